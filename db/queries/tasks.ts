import { createHash } from 'node:crypto'
import { and, asc, eq, gt, inArray, lt, sql } from 'drizzle-orm'
import type { TaskPlan, TaskState } from '../../api/protocol/types.ts'
import type { Temporal } from '../../api/time.ts'
import type { TaskRestJson } from '../json.ts'
import { task } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredTask = typeof task.$inferSelect

const CHUNK = 500
const digest = (value: unknown) => createHash('sha256').update(JSON.stringify(value)).digest('base64url').slice(0, 22)

/** Planned turns due by the clock alone, which is no change anyone must be told of. */
const told = (state: TaskState) => (state === 'due' ? 'planned' : state)

const rest = (t: TaskPlan): TaskRestJson => ({
  detail: t.detail,
  crewMin: t.crewMin,
  crew: t.crew,
  fromVessels: t.fromVessels,
  toVessels: t.toVessels,
  machines: t.machines,
  earliestAt: t.earliestAt.toString(),
  latestAt: t.latestAt.toString(),
  slackMin: t.slackMin,
  forecast: t.forecast,
  ...(t.spread
    ? { spread: { earliestAt: t.spread.earliestAt.toString(), latestAt: t.spread.latestAt.toString() } }
    : {}),
  pinned: t.pinned,
  doses: t.doses,
  records: t.records,
  caution: t.caution,
  materials: t.materials,
  why: t.why,
  whyNotLater: t.whyNotLater,
  prev: t.prev,
  next: t.next,
  conflicts: t.conflicts,
  broken: t.broken,
})

const fingerprint = (t: TaskPlan) =>
  digest([
    t.startAt.toString(),
    t.endAt.toString(),
    t.fromVessels,
    t.toVessels,
    t.machines,
    t.people,
    t.doses.map((d) => [d.product, d.amount, d.unit]),
    told(t.state),
    t.forecast,
  ])

export interface SavedTasks {
  /** Keys whose revision rose, or that are new. */
  readonly changed: readonly string[]
  readonly cancelled: readonly string[]
}

/**
 * Stores a plan over the one before. A row's revision rises only where time, place, people, dose or state change; what
 * the plan no longer has is cancelled with a reason; what was done stays as it was done.
 *
 * Call inside a transaction.
 */
export async function saveTasks(
  db: Db,
  cellarId: string,
  tasks: readonly TaskPlan[],
  at: Temporal.Instant,
  reasonFor: (key: string) => string = () => 'The plan no longer needs it.',
): Promise<SavedTasks> {
  const stored = await db
    .select({
      key: task.key,
      state: task.state,
      fingerprint: task.fingerprint,
      content: task.content,
      revision: task.revision,
    })
    .from(task)
    .where(eq(task.cellarId, cellarId))
  const before = new Map(stored.map((r) => [r.key, r]))
  const planned = new Set(tasks.map((t) => t.key))
  const changed: string[] = []
  const rows = tasks.flatMap((t) => {
    const old = before.get(t.key)
    if (old?.state === 'done' && t.state === 'done') return []
    const print = fingerprint(t)
    const whole = rest(t)
    const content = digest([print, t.name, t.state, whole])
    if (old && old.content === content) return []
    const differs = !old || old.fingerprint !== print
    if (differs) changed.push(t.key)
    return [
      {
        cellarId,
        key: t.key,
        lotId: t.lotId,
        lotCode: t.lotCode,
        step: t.step,
        count: t.count,
        family: t.family,
        name: t.name,
        startAt: t.startAt,
        endAt: t.endAt,
        state: t.state,
        people: [...t.people],
        rest: whole,
        cancelReason: null,
        skipReason: null,
        revision: old ? old.revision + (differs ? 1 : 0) : 0,
        fingerprint: print,
        content,
        createdAt: at,
        changedAt: at,
      },
    ]
  })
  for (let i = 0; i < rows.length; i += CHUNK)
    await db
      .insert(task)
      .values(rows.slice(i, i + CHUNK))
      .onConflictDoUpdate({
        target: [task.cellarId, task.key],
        set: {
          lotId: sql`excluded.lot_id`,
          lotCode: sql`excluded.lot_code`,
          family: sql`excluded.family`,
          name: sql`excluded.name`,
          startAt: sql`excluded.start_at`,
          endAt: sql`excluded.end_at`,
          state: sql`excluded.state`,
          people: sql`excluded.people`,
          rest: sql`excluded.rest`,
          cancelReason: sql`excluded.cancel_reason`,
          skipReason: sql`excluded.skip_reason`,
          // Stamps follow the revision, so that words alone do not look like a change to a subscriber.
          changedAt: sql`case when excluded.revision > ${task.revision} then excluded.changed_at else ${task.changedAt} end`,
          revision: sql`excluded.revision`,
          fingerprint: sql`excluded.fingerprint`,
          content: sql`excluded.content`,
        },
      })
  const vanished = stored
    .filter((r) => !planned.has(r.key) && r.state !== 'cancelled' && r.state !== 'done')
    .map((r) => r.key)
  for (const key of vanished)
    await db
      .update(task)
      .set({
        state: 'cancelled',
        cancelReason: reasonFor(key),
        revision: sql`${task.revision} + 1`,
        changedAt: at,
        fingerprint: 'cancelled',
        content: 'cancelled',
      })
      .where(and(eq(task.cellarId, cellarId), eq(task.key, key)))
  return { changed, cancelled: vanished }
}

export interface TaskWindow {
  readonly fromAt?: Temporal.Instant
  readonly toAt?: Temporal.Instant
  readonly lotId?: string
  readonly personId?: string
}

/** More than any cellar's year; a request that would pass it must narrow its window. */
export const LIST_LIMIT = 20_000

/** Tasks that touch [fromAt, toAt), in order of start. Timeline, calendar, day list and feed all read this. */
export function listTasks(
  db: Db,
  cellarId: string,
  { fromAt, toAt, lotId, personId }: TaskWindow = {},
): Promise<StoredTask[]> {
  return db
    .select()
    .from(task)
    .where(
      and(
        eq(task.cellarId, cellarId),
        toAt && lt(task.startAt, toAt),
        fromAt && gt(task.endAt, fromAt),
        lotId === undefined ? undefined : eq(task.lotId, lotId),
        personId === undefined ? undefined : sql`${task.people} ? ${personId}`,
      ),
    )
    .orderBy(asc(task.startAt), asc(task.key))
    .limit(LIST_LIMIT)
}

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
