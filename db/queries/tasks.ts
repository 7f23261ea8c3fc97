import { and, asc, eq, gt, gte, inArray, lt, or, type SQL, sql } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import { task } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredTask = typeof task.$inferSelect

export interface TaskWindow {
  readonly fromAt?: Temporal.Instant
  readonly toAt?: Temporal.Instant
  readonly lotId?: string
  readonly personId?: string
}

/** More than any cellar's year; a request that would pass it must narrow its window. */
export const LIST_LIMIT = 20_000

/** Tasks that touch [fromAt, toAt), in order of start. Timeline, calendar, day list and feed all read this. */
export function listTasks(db: Db, cellarId: string, window: TaskWindow = {}): Promise<StoredTask[]> {
  return db
    .select()
    .from(task)
    .where(inWindow(cellarId, window))
    .orderBy(asc(task.startAt), asc(task.key))
    .limit(LIST_LIMIT)
}

export const inWindow = (cellarId: string, { fromAt, toAt, lotId, personId }: TaskWindow): SQL | undefined =>
  and(
    eq(task.cellarId, cellarId),
    toAt && lt(task.startAt, toAt),
    // A milestone has no length: it touches the window that begins with it.
    fromAt && or(gt(task.endAt, fromAt), gte(task.startAt, fromAt)),
    lotId === undefined ? undefined : eq(task.lotId, lotId),
    personId === undefined ? undefined : sql`${task.people} ? ${personId}`,
  )

export async function findTask(db: Db, cellarId: string, key: string): Promise<StoredTask | undefined> {
  const [row] = await db
    .select()
    .from(task)
    .where(and(eq(task.cellarId, cellarId), eq(task.key, key)))
  return row
}

export async function findTasks(db: Db, cellarId: string, keys: readonly string[]): Promise<StoredTask[]> {
  if (keys.length === 0) return []
  return db
    .select()
    .from(task)
    .where(and(eq(task.cellarId, cellarId), inArray(task.key, [...keys])))
    .orderBy(asc(task.startAt), asc(task.key))
}
