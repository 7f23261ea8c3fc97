import { and, eq, getTableColumns, type SQL, sql } from 'drizzle-orm'
import { task } from '../schema.ts'
import type { Db } from '../types.ts'
import { ask } from './ask.ts'
import { inWindow, LIST_LIMIT, type StoredTask, type TaskWindow } from './tasks.ts'

interface Seen {
  readonly stamp: string
  readonly row: StoredTask
}

/** Rows of a task are some 4 kB in memory. Chosen by us: a cellar's year, or the days of several. */
const MOST = 25_000

const seen = new WeakMap<Db, Map<string, Seen>>()

/**
 * As `listTasks`, for what is read many times a second: the database says which version of each row stands, and only
 * rows that this process has not seen yet travel. Each is handed out again as the same object, so what was made of it
 * may be remembered by it.
 */
export async function listSeenTasks(db: Db, cellarId: string, window: TaskWindow = {}): Promise<StoredTask[]> {
  const known = seen.get(db) ?? new Map<string, Seen>()
  seen.set(db, known)
  const stamps = await ask<{ k: string; s: string }>(
    db,
    sql`select key as k, ${STAMP} as s from ${task} where ${inWindow(cellarId, window)} order by start_at, key limit ${sql.raw(String(LIST_LIMIT))}`,
  )
  const idOf = (key: string) => `${cellarId} ${key}`
  const unseen = stamps.filter(({ k, s }) => known.get(idOf(k))?.stamp !== s).map(({ k }) => k)
  if (unseen.length === 0) return stamps.map(({ k }) => known.get(idOf(k))!.row)
  const read = new Map<string, StoredTask>()
  for (const { stamp, ...row } of await rowsOf(db, cellarId, unseen)) {
    read.set(row.key, row)
    if (known.size >= MOST) known.clear()
    known.set(idOf(row.key), { stamp, row })
  }
  return stamps.flatMap(({ k }) => read.get(k) ?? known.get(idOf(k))?.row ?? [])
}

/** Which version of its row this is: who wrote it and where it lies (PostgreSQL 15 documentation, "System Columns"). */
const STAMP: SQL<string> = sql`task.xmin::text || ' ' || task.ctid::text`

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
