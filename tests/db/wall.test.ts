import { sql } from 'drizzle-orm'
import postgres from 'postgres'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { type Opened, openDb } from '../../db/open.ts'
import { listCellars } from '../../db/queries/cellars.ts'
import { exportAll } from '../../db/queries/export.ts'
import { listPeople } from '../../db/queries/people.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { acrossCellars, inCellar } from '../../db/wall.ts'
import { emptyServerDb, KIND, ownDb, rows } from '../helpers/db.ts'
import { MORNING } from '../helpers/tasks.ts'

const facts = demoFacts()
const two = (['near', 'far'] as const).map((id) => ({ ...facts, cellar: { ...facts.cellar, id }, lots: [] }))

/** Tables with a cellar's rows, and which of them have a policy that is in force. */
const POLICIES = sql`
  select c.relname as name, c.relrowsecurity as walled,
    (select count(*)::int from pg_policy p where p.polrelid = c.oid) as policies
  from pg_class c join pg_namespace n on n.oid = c.relnamespace
  where n.nspname = 'public' and c.relkind = 'r' order by 1`

it('every table has its policy, on either database', async () => {
  const own = await ownDb()
  const found = await rows<{ name: string; walled: boolean; policies: number }>(own.db, POLICIES)
  expect(found.length).toBeGreaterThan(20)
  expect(found.filter((t) => !t.walled || t.policies !== 1)).toEqual([])
  await own.close()
})

const onServer = () => {
  let opened: Opened
  let url: string
  let drop: () => Promise<void>

  beforeAll(async () => {
    const made = await emptyServerDb()
    url = made.url
    drop = made.drop
    opened = await openDb({ url, unscoped: 'nothing' })
    await acrossCellars(async () => {
      for (const one of two) await opened.db.transaction((tx) => storeFacts(tx, one, { demo: false, at: MORNING }))
    })
  })

  afterAll(async () => {
    await opened.close()
    await drop()
  })

  it('works as a role that owns nothing and may not step over the wall', async () => {
    expect(opened.walled).toBe(true)
    const [me] = await rows<{ name: string; above: boolean; owns: number }>(
      opened.db,
      sql`select current_user::text as name, (select rolsuper or rolbypassrls from pg_roles where rolname = current_user) as above,
        (select count(*)::int from pg_class c join pg_roles r on r.oid = c.relowner where r.rolname = current_user) as owns`,
    )
    expect(me).toEqual({ name: 'leesway_app', above: false, owns: 0 })
  })

  it('shows nothing to a query that says no cellar, and its own rows to one that does', async () => {
    const { db } = opened
    expect(await listPeople(db, 'near')).toEqual([])
    expect(await listCellars(db)).toEqual([])
    await inCellar('near', async () => {
      expect(await listPeople(db, 'near')).toHaveLength(facts.people.length)
      expect((await listCellars(db)).map((c) => c.id)).toEqual(['near'])
      // As a forgetful query would: another cellar's rows, and no cellar at all.
      expect(await listPeople(db, 'far')).toEqual([])
      const [all] = await rows<{ n: number }>(db, sql`select count(*)::int as n from vessel`)
      expect(all!.n).toBe((await listVessels(db, 'near')).length)
    })
    expect(await acrossCellars(async () => (await listCellars(db)).map((c) => c.id))).toEqual(['far', 'near'])
  })

  it('holds in transactions, at every level of isolation', async () => {
    const { db } = opened
    await inCellar('far', async () => {
      const seen = await db.transaction(async (tx) => [
        (await listPeople(tx, 'far')).length,
        (await listPeople(tx, 'near')).length,
      ])
      expect(seen).toEqual([facts.people.length, 0])
      expect((await exportAll(db, 'near')).people).toEqual([])
      expect((await exportAll(db, 'far')).people).toHaveLength(facts.people.length)
    })
  })

  it('lets no row be written, changed or removed in another cellar', async () => {
    const { db } = opened
    await inCellar('near', async () => {
      await expect(
        db.execute(
          sql`insert into protocol (cellar_id, id, name, choices, changed_at) values ('far', 'p', 'p', '{}', now())`,
        ),
      ).rejects.toMatchObject({ cause: { code: '42501' } })
      await db.execute(sql`update person set post = 'taken' where cellar_id = 'far'`)
      await db.execute(sql`delete from vessel where cellar_id = 'far'`)
    })
    await inCellar('far', async () => {
      expect((await listPeople(db, 'far')).map((p) => p.post)).toEqual(
        [...facts.people].sort((a, b) => (a.id < b.id ? -1 : 1)).map((p) => p.post),
      )
      expect((await listVessels(db, 'far')).length).toBe(facts.vessels.length)
    })
  })

  it('does not mix up cellars that ask at the same time over the same few connections', async () => {
    const { db } = opened
    const asked = Array.from({ length: 200 }, (_, i) => (i % 3 === 0 ? undefined : i % 3 === 1 ? 'near' : 'far'))
    const seen = await Promise.all(
      asked.map((id) =>
        inCellar(id, async () => {
          const plain = (await listCellars(db)).map((c) => c.id)
          const within = await db.transaction(async (tx) => (await listCellars(tx)).map((c) => c.id))
          return [plain, within]
        }),
      ),
    )
    expect(seen).toEqual(asked.map((id) => (id === undefined ? [[], []] : [[id], [id]])))
  })

  it('keeps accounts out of sight of a cellar', async () => {
    await acrossCellars(() =>
      opened.db.execute(sql`insert into account (id, name, created_at) values ('a', 'A', now())`),
    )
    const count = sql`select count(*)::int as n from account`
    expect(await inCellar('near', () => rows(opened.db, count))).toEqual([{ n: 0 }])
    expect(await acrossCellars(() => rows(opened.db, count))).toEqual([{ n: 1 }])
  })

  it('lets the one who migrates and backs up see all rows', async () => {
    const one = postgres(url, { max: 1, onnotice: () => {} })
    await one`set row_security = off`
    expect(await one`select count(*)::int as n from person`).toEqual([{ n: 2 * facts.people.length }])
    await one.end()
  })

  it('gives a connection back when the database refuses, so that forty refusals block nobody', async () => {
    await inCellar('near', async () => {
      const refused = Array.from({ length: 40 }, () => opened.db.execute(sql`select 1 / 0`).catch(() => 'refused'))
      expect(new Set(await Promise.all(refused))).toEqual(new Set(['refused']))
      expect((await listCellars(opened.db)).map((c) => c.id)).toEqual(['near'])
    })
  })

  it('says anew where it stands after a question that failed elsewhere, on the same connection', async () => {
    const { db } = opened
    const here = () => acrossCellars(async () => (await listCellars(db)).map((c) => c.id))
    const wrong = (id: string) => inCellar(id, () => db.execute(sql`select 1 / 0`).catch(() => 'refused'))
    expect(await inCellar('near', async () => (await listCellars(db)).map((c) => c.id))).toEqual(['near'])
    expect(await wrong('far')).toBe('refused')
    expect(await inCellar('near', async () => (await listCellars(db)).map((c) => c.id))).toEqual(['near'])
    // Nor does a wall stay open that was opened for a question that failed.
    expect(await wrong('*')).toBe('refused')
    expect(await inCellar('near', async () => (await listCellars(db)).map((c) => c.id))).toEqual(['near'])
    expect(await here()).toEqual(['far', 'near'])
  })
}

// The embedded database has one user, who owns everything: its policies stand ready, and hold nobody back.
if (KIND === 'postgres') describe('the wall between cellars', onServer)
