import { getTableName, is, sql } from 'drizzle-orm'
import { PgTable } from 'drizzle-orm/pg-core'
import postgres from 'postgres'
import { describe, expect, it } from 'vitest'
import { migrateServer } from '../../db/migrate.ts'
import { openDb } from '../../db/open.ts'
import { listCellars } from '../../db/queries/cellars.ts'
import * as schema from '../../db/schema.ts'
import { emptyServerDb, KIND, rows, sharedDb } from '../helpers/db.ts'

/** Every table the code knows. */
const TABLES = Object.values(schema)
  .filter((value) => is(value, PgTable))
  .map((table) => getTableName(table as PgTable))
  .sort()

describe('the tables', () => {
  it('are all there', async () => {
    const found = await rows<{ name: string }>(
      await sharedDb(),
      sql`select table_name as name from information_schema.tables where table_schema = 'public' order by 1`,
    )
    expect(found.map((t) => t.name)).toEqual(TABLES)
  })

  it('keep a cellar together: its id leads every key and every index', async () => {
    const found = await rows<{ index: string; first: string }>(
      await sharedDb(),
      sql`select i.indexrelid::regclass::text as index, a.attname as first
          from pg_index i join pg_class c on c.oid = i.indrelid join pg_namespace n on n.oid = c.relnamespace
          join pg_attribute a on a.attrelid = c.oid and a.attnum = i.indkey[0]
          where n.nspname = 'public' order by 1`,
    )
    const elsewhere = found.filter((i) => i.first !== 'cellar_id').map((i) => i.index)
    // The cellar's own key; and what is found by the hash of a secret, before it is known which cellar it is for.
    // Accounts belong to people, who may work in several cellars.
    expect(elsewhere).toEqual([
      'account_pkey',
      'cellar_pkey',
      'challenge_pkey',
      'feed_token',
      'login_link_pkey',
      'passkey_account',
      'passkey_pkey',
      'person_account',
      'recovery_code_account_id_code_hash_pk',
      'session_device',
      'session_pkey',
    ])
  })
})

const onServer = () => {
  it('is migrated once by three servers that start at the same time, and again without harm', async () => {
    const { url, drop } = await emptyServerDb()
    await Promise.all([migrateServer(url), migrateServer(url), migrateServer(url)])
    await migrateServer(url)
    const one = postgres(url, { max: 1, onnotice: () => {} })
    const applied =
      await one`select count(*)::int as n, count(distinct hash)::int as different from drizzle.__drizzle_migrations`
    expect(applied[0]!.n).toBe(applied[0]!.different)
    expect(await one`select count(*)::int as n from pg_locks where locktype = 'advisory'`).toEqual([{ n: 0 }])
    await one.end()
    await drop()
  })

  it('is read rightly whatever zone and style of dates it prefers', async () => {
    const { url, drop } = await emptyServerDb()
    const one = postgres(url, { max: 1, onnotice: () => {} })
    const name = new URL(url).pathname.slice(1)
    await one.unsafe(`alter database ${name} set timezone to 'Asia/Kathmandu'`)
    await one.unsafe(`alter database ${name} set datestyle to 'German'`)
    await one.end()
    const opened = await openDb({ url })
    await opened.db.execute(
      sql`insert into cellar (id, name, hemisphere, vintage, zone, units, sugar_unit, language, rates, holidays, created_at)
          values ('a', 'A', 'south', 2027, 'UTC', 'metric', 'brix', 'en', '{}', '[]', '2027-03-22T05:00:00Z')`,
    )
    expect((await listCellars(opened.db)).map((c) => c.id)).toEqual(['a'])
    const row = await opened.db.query.cellar?.findFirst()
    expect(row?.createdAt.toString()).toBe('2027-03-22T05:00:00Z')
    await opened.close()
    await drop()
  })
}

// Races and settings that only a server has.
if (KIND === 'postgres') describe('a server database', onServer)
