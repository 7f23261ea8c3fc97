import { sql } from 'drizzle-orm'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { OUTER_HANDLE } from '../../db/guard.ts'
import { listCellars } from '../../db/queries/cellars.ts'
import { ownDb, rows, type TestDb } from '../helpers/db.ts'

let own: TestDb
beforeAll(async () => {
  own = await ownDb()
})
afterAll(() => own.close())

const causes = (error: unknown): string[] => (error instanceof Error ? [error.message, ...causes(error.cause)] : [])

describe('the outer handle inside a transaction', () => {
  it('throws, instead of waiting for itself for ever', async () => {
    const failure = await own.db.transaction(() => listCellars(own.db)).catch((e: unknown) => e)
    expect(causes(failure)).toContain(OUTER_HANDLE)
  })

  it('throws for a second transaction too', async () => {
    const failure = await own.db.transaction(() => own.db.transaction(async () => 1)).catch((e: unknown) => e)
    expect(causes(failure)).toContain(OUTER_HANDLE)
  })

  it('leaves the database usable, and the failed transaction undone', async () => {
    await own.db
      .transaction(async (tx) => {
        await tx.execute(sql`create table left_behind (n int)`)
        await listCellars(own.db)
      })
      .catch(() => {})
    expect(await rows(own.db, sql`select to_regclass('left_behind')::text as name`)).toEqual([{ name: null }])
    expect(await listCellars(own.db)).toEqual([])
  })

  it('is free again for work that a transaction started and outlived', async () => {
    let late: Promise<unknown> = Promise.resolve()
    await own.db.transaction(async (tx) => {
      await listCellars(tx)
      late = new Promise((done) => setTimeout(done, 50)).then(() => listCellars(own.db))
    })
    expect(await late).toEqual([])
  })

  it('does not disturb transactions that run side by side, or one within another', async () => {
    const counts = await Promise.all(
      [1, 2, 3].map((n) =>
        own.db.transaction(async (tx) => {
          const inner = await tx.transaction(async (deeper) => rows<{ n: number }>(deeper, sql`select ${n}::int as n`))
          return inner[0]!.n
        }),
      ),
    )
    expect(counts).toEqual([1, 2, 3])
  })
})
