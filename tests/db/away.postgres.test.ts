import { sql } from 'drizzle-orm'
import postgres from 'postgres'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { fromDatabase } from '../../api/constraints.ts'
import { type Opened, openDb } from '../../db/open.ts'
import { createPool } from '../../db/pool.ts'
import { inCellar, standIn } from '../../db/wall.ts'
import { rows } from '../helpers/db.ts'
import { type OwnPostgres, startPostgres } from '../helpers/postgres.ts'

let server: OwnPostgres
let opened: Opened
beforeAll(async () => {
  server = await startPostgres()
  opened = await openDb({ url: server.url })
  await rows(opened.db, sql`select 1`)
  const admin = await openDb({ url: server.url })
  await admin.raw('write', async (raw) => {
    await raw.ask('create table written (n int primary key)')
    await raw.ask('grant all on written to leesway_app')
  })
  await admin.close()
})
afterAll(async () => {
  await opened.close()
  await server.stop()
})

const SOON_MS = 8_000
const soon = <T>(work: Promise<T>) =>
  Promise.race([
    work,
    new Promise<never>((_, fail) => setTimeout(() => fail(new Error('never answered')), SOON_MS).unref()),
  ])
const why = (work: Promise<unknown>) =>
  soon(work).then(
    () => 'was done',
    (error: unknown) => fromDatabase(error)?.type ?? String(error),
  )
const write = (n: number) => inCellar('any', () => opened.db.execute(sql`insert into written values (${n})`))
const stored = async () => (await rows<{ n: number }>(opened.db, sql`select n from written order by n`)).map((r) => r.n)

describe.each(['SIGINT', 'SIGQUIT'] as const)('a database that goes away by %s in the middle of a write', (signal) => {
  const base = signal === 'SIGINT' ? 0 : 1000
  it('refuses the write, stores none of it, and is asked again once it is back', { timeout: 60_000 }, async () => {
    let goOn: () => void = () => {}
    const gone = new Promise<void>((done) => {
      goOn = done
    })
    const within = inCellar('any', () =>
      opened.db.transaction(async (tx) => {
        await tx.execute(sql`insert into written values (${base + 1})`)
        await gone
        await tx.execute(sql`insert into written values (${base + 2})`)
      }),
    )
    const nested = opened.db.transaction((tx) =>
      tx.transaction(async (inner) => {
        await inner.execute(sql`insert into written values (${base + 3})`)
        await gone
      }),
    )
    const asking = opened.db.execute(sql`select pg_sleep(30)`)
    const fates = [within, nested, asking].map(why)
    await new Promise((later) => setTimeout(later, 300))
    await server.halt(signal)
    goOn()
    expect(await Promise.all(fates)).toEqual(['database-away', 'database-away', 'database-away'])
    // More than the pool has places for: none may stay in a queue.
    const during = await Promise.all(Array.from({ length: 40 }, (_, i) => why(write(base + 100 + i))))
    expect(new Set(during)).toEqual(new Set(['database-away']))
    await server.start()
    await expect.poll(() => why(write(base + 10)), { timeout: 5_000, interval: 100 }).toBe('was done')
    const after = await Promise.all(Array.from({ length: 40 }, (_, i) => why(write(base + 200 + i))))
    expect(new Set(after)).toEqual(new Set(['was done']))
    expect((await stored()).filter((n) => n >= base && n < base + 200)).toEqual([base + 10])
  })
})

it('hears what other servers say again after the database was away', { timeout: 60_000 }, async () => {
  const heard: string[] = []
  const stop = await opened.listen('leesway_test', (message) => heard.push(message))
  await server.halt()
  await server.start()
  await expect
    .poll(
      async () => {
        await opened.db.execute(sql`select pg_notify('leesway_test', 'back')`).catch(() => {})
        return heard.length
      },
      { timeout: 10_000, interval: 200 },
    )
    .toBeGreaterThan(0)
  await stop()
})

it('gives up a database that holds its sessions open and answers nothing', { timeout: 60_000 }, async () => {
  const client = postgres(server.url, { max: 1 })
  const pool = createPool((onclose) => postgres(server.url, { max: 1, onclose }), 2, 500)
  const walled = standIn(client, pool, 'everything')
  const ask = async () => void (await walled.unsafe('select 1 as n'))
  const change = () => walled.begin(async (tx) => void (await tx.unsafe('select 1 as n')))
  await Promise.all([ask(), change()])
  server.freeze(true)
  try {
    expect(await Promise.all([ask(), change()].map(why))).toEqual(['database-away', 'database-away'])
  } finally {
    server.freeze(false)
  }
  await expect.poll(() => why(ask()), { timeout: 5_000, interval: 100 }).toBe('was done')
  await pool.end()
})
