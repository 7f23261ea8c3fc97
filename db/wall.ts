/**
 * A second wall between cellars, on the server database: row-level security. Every query names its cellar anyway; should
 * one forget to, it sees nothing instead of everything. The tables belong to whoever migrates; the app works as a role
 * of its own that owns nothing, and says in each transaction which cellar it is working for.
 * Source: PostgreSQL 15 documentation, "Row Security Policies". The embedded database has the same policies, and no
 * other role to be held back by them.
 */
import { AsyncLocalStorage } from 'node:async_hooks'
import type { Sql } from 'postgres'
import { type Line, lostError, type Pool } from './pool.ts'
import { ofDatabase } from './room.ts'

const ROLE = 'leesway_app'
const SETTING = 'leesway.cellar'
const NOWHERE = ''
const EVERYWHERE = '*'

const standing = new AsyncLocalStorage<string>()

/** Whatever `work` asks the database sees this cellar alone; without one, nothing. */
export const inCellar = <T>(cellarId: string | undefined, work: () => T | PromiseLike<T>): Promise<T> =>
  standing.run(cellarId ?? NOWHERE, async () => await work())

/** For what comes before a cellar is known, or goes through all: signing in, feeds by their address, the nightly round. */
export const acrossCellars = <T>(work: () => T | PromiseLike<T>): Promise<T> =>
  standing.run(EVERYWHERE, async () => await work())

/** Where a query stands that was asked outside of both. */
export type Unscoped = 'nothing' | 'everything'

/** The driver's client for asking whole rows of it, but each query and each transaction first says where it stands. */
export function standIn(sql: Sql, pool: Pool, unscoped: Unscoped): Sql {
  const here = () => standing.getStore() ?? (unscoped === 'everything' ? EVERYWHERE : NOWHERE)
  const unsafe = (text: string, params: never[] = [], options: object = {}) => {
    const place = here()
    const ask = (asValues: boolean) =>
      pool.lend(async (line) => {
        const one = await line.sql.reserve()
        try {
          // Both travel at once: no second round trip, and one connection, so the second cannot overtake.
          const said = line.place === place ? undefined : one.unsafe(`set ${SETTING} = ${quoted(place)}`)
          // Should the question fail, where the connection stands then is said anew.
          line.place = undefined
          const asked = one.unsafe(text, params, options)
          const [, answer] = await line.hear(Promise.all([said, asValues ? asked.values() : asked]))
          line.place = place
          return answer
        } catch (error) {
          throw ofDatabase(error)
        } finally {
          // The driver has thrown a lost connection away by itself; given back, it would be written to and end the process.
          if (!line.lost) one.release()
        }
      })
    return lazily(ask)
  }
  const begin = (...args: unknown[]) => {
    const work = args.at(-1) as (tx: Sql) => Promise<unknown>
    const place = here()
    return pool.lend(async (line) => {
      let begun: () => void = () => {}
      const begins = new Promise<void>((done) => {
        begun = done
      })
      let own: unknown
      const within = async (tx: Sql) => {
        begun()
        const guarded = untilLost(tx, line)
        // Not a query: an isolation level may still be asked for after it.
        await guarded.unsafe(`set local ${SETTING} = ${quoted(place)}`)
        const answer = await work(guarded).catch((error: unknown) => {
          own = error
          throw error
        })
        // What follows is the commit.
        line.hear(whole).catch(() => {})
        return answer
      }
      const options = args.slice(0, -1)
      const whole = line.sql.begin(...([...options, settled(within, line)] as unknown as Parameters<Sql['begin']>))
      line.hear(Promise.race([begins, whole])).catch(() => {})
      return whole.catch((error: unknown) => {
        throw error === own ? error : ofDatabase(error)
      })
    })
  }
  return new Proxy(sql, {
    get(target, key) {
      if (key === 'unsafe') return unsafe
      if (key === 'begin') return begin
      return Reflect.get(target, key, target)
    },
  })
}

const quoted = (text: string) => `'${text.replaceAll("'", "''")}'`

/**
 * The driver ends a transaction by asking for it on its connection, also when that is gone, which would end the process
 * (postgres 3.4.9, `scope` in src/index.js). The transaction as a whole is refused anyway; so its work is left waiting.
 */
const settled =
  (work: (tx: Sql) => Promise<unknown>, line: Line) =>
  async (tx: Sql): Promise<unknown> => {
    try {
      const answer = await work(tx)
      return line.lost ? await NEVER : answer
    } catch (error) {
      if (line.lost) return NEVER
      throw error
    }
  }

const NEVER = new Promise<never>(() => {})

/** A transaction's client, which asks nothing more once its connection is gone. */
function untilLost(tx: Sql, line: Line): Sql {
  return new Proxy(tx, {
    get(target, key) {
      const value: unknown = Reflect.get(target, key, target)
      if (key === 'unsafe') {
        return (...args: Parameters<Sql['unsafe']>) => {
          if (line.lost) throw lostError()
          const asked = target.unsafe(...args)
          line.hear(asked).catch(ofDatabase)
          return asked
        }
      }
      if (key === 'savepoint') {
        return (...args: unknown[]) => {
          const inner = args.at(-1) as (tx: Sql) => Promise<unknown>
          const guarded = settled((deeper) => inner(untilLost(deeper, line)), line)
          return (value as (...a: unknown[]) => unknown).call(target, ...args.slice(0, -1), guarded)
        }
      }
      return value
    },
  })
}

/** Asked when waited for, as the driver's own queries are. */
function lazily(ask: (asValues: boolean) => Promise<unknown>) {
  let asked: Promise<unknown> | undefined
  const once = () => (asked ??= ask(false))
  return {
    // biome-ignore lint/suspicious/noThenProperty: the driver's queries are awaited themselves
    then: (kept?: (v: unknown) => unknown, broken?: (e: unknown) => unknown) => once().then(kept, broken),
    catch: (broken: (e: unknown) => unknown) => once().catch(broken),
    finally: (after: () => void) => once().finally(after),
    values: () => ask(true),
  }
}

/** Rows of accounts belong to no cellar: they are for signing in alone. */
const ACCOUNTS = ['account', 'passkey', 'recovery_code']

const HERE = `(select nullif(current_setting('${SETTING}', true), ''))`

const policyOf = (table: string) => {
  if (ACCOUNTS.includes(table)) return `${HERE} = '${EVERYWHERE}'`
  return `${table === 'cellar' ? 'id' : 'cellar_id'} = ${HERE} or ${HERE} = '${EVERYWHERE}'`
}

/** What has to be asked of a database: rows of text. */
type Ask = (text: string) => Promise<readonly Record<string, unknown>[]>

/**
 * Gives every table its policy and the role its rights, tables of later editions too. Run after migrating, by the one
 * who may change tables.
 *
 * @returns the role to work as, or undefined where the role is not there and may not be made
 */
export async function raiseWalls(ask: Ask): Promise<string | undefined> {
  for (const { table } of await ask(BARE)) {
    await ask(`alter table "${table}" enable row level security`)
    await ask(`drop policy if exists cellar_wall on "${table}"`)
    await ask(`create policy cellar_wall on "${table}" using (${policyOf(String(table))})`)
  }
  try {
    await ask(`do $$ begin
      if not exists (select from pg_roles where rolname = '${ROLE}') then create role ${ROLE} nologin; end if;
      if not pg_has_role(current_user, '${ROLE}', 'member') then grant ${ROLE} to current_user; end if;
      exception when duplicate_object or unique_violation then null; end $$`)
  } catch (error) {
    if (isRefused(error)) return undefined
    throw error
  }
  await ask(`grant usage on schema public to ${ROLE}`)
  await ask(`grant select, insert, update, delete on all tables in schema public to ${ROLE}`)
  await ask(`grant usage, select on all sequences in schema public to ${ROLE}`)
  return ROLE
}

/** Tables that should have the policy and have not. */
const BARE = `
  select c.relname as "table" from pg_class c join pg_namespace n on n.oid = c.relnamespace
  where n.nspname = 'public' and c.relkind = 'r'
    and (c.relname in ('cellar', ${ACCOUNTS.map((t) => `'${t}'`).join(', ')})
      or exists (select from pg_attribute a where a.attrelid = c.oid and a.attname = 'cellar_id' and not a.attisdropped))
    and not (c.relrowsecurity
      and exists (select from pg_policy p where p.polrelid = c.oid and p.polname = 'cellar_wall'))
  order by 1`

/** 42501: insufficient privilege. */
const isRefused = (error: unknown) => error instanceof Error && 'code' in error && error.code === '42501'
