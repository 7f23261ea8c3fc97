import { randomUUID } from 'node:crypto'
import { and, eq, sql } from 'drizzle-orm'
import { beforeAll, describe, expect, it } from 'vitest'
import { checkRecord } from '../../api/record/check.ts'
import type { TaskWire } from '../../api/wire.ts'
import { listEntriesAfter } from '../../db/queries/record.ts'
import { reading, recordEntry } from '../../db/schema.ts'
import { type Call, type Made, makeApp } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const check = () => checkRecord(made.db, made.cellarId)

describe('the record', () => {
  it('has every fact in the order of writing, with who, when and the operation, and fits together', async () => {
    const { tasks } = (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body
    const key = tasks[0]!.key
    const before = await check()
    const opId = randomUUID()
    await call('POST', `/api/tasks/${key}/note`, {
      opId,
      note: 'smells clean',
      readings: [{ kind: 'temp', value: 14 }],
      additions: [{ product: 'bentonite', amount: 10, unit: 'g', treatedL: 100 }],
    })
    const fresh = (await listEntriesAfter(made.db, made.cellarId, before.entries, 10)).map((e) => [
      e.kind,
      e.personId,
      e.opId,
      e.taskKey,
    ])
    expect(fresh).toEqual([
      ['note', 'winemaker', opId, key],
      ['reading', 'winemaker', opId, key],
      ['addition', 'winemaker', opId, key],
    ])
    expect(await check()).toMatchObject({ entries: before.entries + 3, faults: [] })
  })

  it('names the entry whose row was changed behind the application’s back', async () => {
    const [row] = await made.db.select().from(reading).where(eq(reading.cellarId, made.cellarId))
    const set = (value: number) =>
      made.db
        .update(reading)
        .set({ value })
        .where(and(eq(reading.cellarId, made.cellarId), eq(reading.id, row!.id)))
    await set(11)
    const { faults } = await check()
    expect(faults.map((f) => [f.rule, f.words])).toEqual([['row', 'value of the reading was 14, is 11']])
    await set(14)
    expect((await check()).faults).toEqual([])
  })

  it('takes no change and no removal of an entry', async () => {
    const mine = eq(recordEntry.cellarId, made.cellarId)
    await expect(made.db.update(recordEntry).set({ payload: '{}' }).where(mine)).rejects.toThrow()
    await expect(made.db.delete(recordEntry).where(mine)).rejects.toThrow()
    expect((await check()).faults).toEqual([])
  })

  it('shows what even the owner of the database did to it', async () => {
    await made.db
      .transaction(async (tx) => {
        await tx.execute(sql`set local role none`)
        await tx.execute(sql`alter table record_entry disable trigger record_entry_stands`)
        const mine = and(eq(recordEntry.cellarId, made.cellarId), eq(recordEntry.entry, 2))
        await tx.update(recordEntry).set({ payload: '{}' }).where(mine)
        const changed = await checkRecord(tx, made.cellarId)
        expect(changed.faults.map((f) => [f.entry, f.rule])).toContainEqual([2, 'payload'])
        await tx.delete(recordEntry).where(mine)
        const removed = await checkRecord(tx, made.cellarId)
        expect(removed.faults[0]).toEqual({ entry: 3, rule: 'chain', words: 'Entry 2 is missing' })
        throw new Error('rolled back')
      })
      .catch((error: unknown) => expect(String(error)).toContain('rolled back'))
  })

  it('keeps its order when several write at once', async () => {
    const readings = (value: number) => ({ readings: [{ lot: 'L01', kind: 'temp', value, opId: randomUUID() }] })
    await Promise.all([12, 13, 14, 15].map((value) => call('POST', '/api/readings', readings(value))))
    expect((await check()).faults).toEqual([])
  })
})
