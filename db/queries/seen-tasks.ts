import { and, eq, getTableColumns, type SQL, sql } from 'drizzle-orm'
import { task } from '../schema.ts'
import type { Db } from '../types.ts'
import { ask } from './ask.ts'
import { inWindow, LIST_LIMIT, type StoredTask, type TaskWindow } from './tasks.ts'

interface Seen {
  readonly stamp: string
  readonly row: StoredTask
}

/** Rows of a task are some 4 kB in memory; twice as many at the most. Chosen by us: a cellar's year, or the days of several. */
const MOST = 25_000

/** By database: a transaction on it asks with the same dialect. */
const seen = new WeakMap<object, Shelf>()

function seenIn(db: Db): Shelf {
  const { dialect } = db as unknown as { readonly dialect: object }
  const known = seen.get(dialect) ?? shelf()
  seen.set(dialect, known)
  return known
}

type Shelf = ReturnType<typeof shelf>

/** Remembers what was asked for last: when full, what nobody asked for since it was full before is forgotten. */
function shelf() {
  let fresh = new Map<string, Seen>()
  let before = new Map<string, Seen>()
  const set = (id: string, one: Seen) => {
    if (fresh.size >= MOST) {
      before = fresh
      fresh = new Map()
    }
    fresh.set(id, one)
  }
  return {
    set,
    get: (id: string): Seen | undefined => {
      const found = fresh.get(id)
      if (found) return found
      const old = before.get(id)
      if (old) set(id, old)
      return old
    },
  }
}

/**
 * As `listTasks`, for what is read many times a second: the database says which version of each row stands, and only
 * rows that this process has not seen yet travel. Each is handed out again as the same object, so what was made of it
 * may be remembered by it.
 */
export const listSeenTasks = (db: Db, cellarId: string, window: TaskWindow = {}): Promise<StoredTask[]> =>
  seenTasks(
    db,
    cellarId,
    sql`${inWindow(cellarId, window)} order by start_at, key limit ${sql.raw(String(LIST_LIMIT))}`,
  )

/** Every task of a cellar, cancelled ones too: what the planner knows must not end at a page. Read as `listSeenTasks`. */
export const listAllTasks = (db: Db, cellarId: string): Promise<StoredTask[]> =>
  seenTasks(db, cellarId, sql`${inWindow(cellarId, {})} order by start_at, key`)

async function seenTasks(db: Db, cellarId: string, which: SQL): Promise<StoredTask[]> {
  const known = seenIn(db)
  const stamps = await ask<{ k: string; s: string }>(
    db,
    sql`select key as k, ${STAMP} as s from ${task} where ${which}`,
  )
  const idOf = (key: string) => `${cellarId} ${key}`
  // Held here: what is remembered may be thrown away while the others are read.
  const rows = new Map<string, StoredTask>()
  for (const { k, s } of stamps) {
    const before = known.get(idOf(k))
    if (before?.stamp === s) rows.set(k, before.row)
  }
  const unseen = stamps.flatMap(({ k }) => (rows.has(k) ? [] : [k]))
  for (const { stamp, ...row } of unseen.length === 0 ? [] : await rowsOf(db, cellarId, unseen)) {
    rows.set(row.key, row)
    known.set(idOf(row.key), { stamp, row })
  }
  return stamps.flatMap(({ k }) => rows.get(k) ?? [])
}

/**
 * Which version of its row this is: who wrote it and where it lies (PostgreSQL 15 documentation, "System Columns"), and
 * since when this server runs: one that a backup or a standby was put in place of gives the same numbers out again.
 */
const STAMP: SQL<string> = sql`task.xmin::text || ' ' || task.ctid::text || ' ' || (select extract(epoch from pg_postmaster_start_time())::text)`

const rowsOf = (db: Db, cellarId: string, keys: readonly string[]) =>
  db
    .select({ ...getTableColumns(task), stamp: STAMP })
    .from(task)
    .where(
      and(
        eq(task.cellarId, cellarId),
        sql`${task.key} = any(array(select jsonb_array_elements_text(${JSON.stringify(keys)}::jsonb)))`,
      ),
    )
