import { createHash } from 'node:crypto'
import { and, eq, gte, inArray, sql } from 'drizzle-orm'
import { alias } from 'drizzle-orm/pg-core'
import type { Beside } from '../../api/protocol/beside.ts'
import type { TaskPlan, TaskState } from '../../api/protocol/types.ts'
import { isoOf, type Temporal } from '../../api/time.ts'
import type { TaskRestJson } from '../json.ts'
import { task, taskFact } from '../schema.ts'
import type { Db } from '../types.ts'
import { listAllTasks } from './seen-tasks.ts'

export interface SavedTasks {
  /** Keys whose revision rose, or that are new. */
  readonly changed: readonly string[]
  readonly cancelled: readonly string[]
}

export interface Saving {
  /** Why a task is cancelled that the plan no longer has. */
  readonly reasonFor?: (key: string) => string
  /** What is kept with a task's row and is no part of its plan. */
  readonly beside?: (t: TaskPlan) => Beside
  /** All of the cellar's rows, where they were read in this transaction after `lockPlan` already. */
  readonly known?: readonly Before[]
}

interface Before {
  readonly key: string
  readonly lotCode: string
  readonly state: TaskState
  readonly fingerprint: string
  readonly content: string
  readonly revision: number
}

/** Rows a statement: 20 columns a row stay far below the 65,535 parameters of the wire protocol. */
const CHUNK = 500

/** What people did stays as it was done, whatever a plan says; taking it back is an entry of its own. */
const SETTLED: readonly TaskState[] = ['done', 'skipped']

/**
 * Stores a plan over the one before. A row's revision rises only where time, place, people, dose or state change; what
 * the plan no longer has is cancelled with a reason; what was done stays as it was done, unless it was taken back.
 *
 * Call inside a transaction, after `lockPlan`: it compares with what it read.
 */
export async function saveTasks(
  db: Db,
  cellarId: string,
  tasks: readonly TaskPlan[],
  at: Temporal.Instant,
  { reasonFor = () => 'The plan no longer needs it.', beside = () => ({}), known }: Saving = {},
): Promise<SavedTasks> {
  const planned = new Set(tasks.map((t) => t.key))
  if (planned.size < tasks.length) throw new Error(`two tasks share a key: ${twice(tasks)}`)
  const lotCodes = new Set(tasks.map((t) => t.lotCode))
  const before = beforeIn(known ?? (await listAllTasks(db, cellarId)), lotCodes)
  const reopened = await listReopened(db, cellarId, tasks, before)
  const rows = tasks.flatMap((t) => rowFor(cellarId, t, before.get(t.key), at, reopened, beside))
  for (let i = 0; i < rows.length; i += CHUNK) await upsert(db, rows.slice(i, i + CHUNK))
  const gone = [...before.values()].filter((r) => !planned.has(r.key) && r.state !== 'cancelled')
  const settled = gone.filter((r) => SETTLED.includes(r.state))
  const takenBack = settled.length === 0 ? new Set<string>() : await listTakenBack(db, cellarId)
  const cancelled = gone.filter((r) => !SETTLED.includes(r.state) || takenBack.has(r.key)).map((r) => r.key)
  await cancel(db, cellarId, cancelled, at, reasonFor)
  const changed = rows.filter((r) => r.revision !== before.get(r.key)?.revision).map((r) => r.key)
  return { changed, cancelled }
}

/** Of the lots in the plan everything; of others what is still open. */
const beforeIn = (known: readonly Before[], lotCodes: ReadonlySet<string>): ReadonlyMap<string, Before> =>
  new Map(
    known.flatMap((r) =>
      lotCodes.has(r.lotCode) || !(SETTLED.includes(r.state) || r.state === 'cancelled') ? [[r.key, r] as const] : [],
    ),
  )

/** Of the settled rows that the plan sees otherwise: those that somebody took back since. */
async function listReopened(
  db: Db,
  cellarId: string,
  tasks: readonly TaskPlan[],
  before: ReadonlyMap<string, Before>,
): Promise<ReadonlySet<string>> {
  const keys = tasks.flatMap((t) => {
    const old = before.get(t.key)
    return old && SETTLED.includes(old.state) && revised(old.fingerprint) !== fingerprint(t) ? [t.key] : []
  })
  const reopened = new Set<string>()
  for (let i = 0; i < keys.length; i += CHUNK) {
    const rows = await db
      .selectDistinct({ key: taskFact.taskKey })
      .from(taskFact)
      .innerJoin(task, and(eq(task.cellarId, taskFact.cellarId), eq(task.key, taskFact.taskKey)))
      .where(
        and(
          eq(taskFact.cellarId, cellarId),
          inArray(taskFact.taskKey, keys.slice(i, i + CHUNK)),
          eq(taskFact.kind, 'undo'),
          gte(taskFact.writtenAt, task.changedAt),
        ),
      )
    for (const row of rows) reopened.add(row.key)
  }
  return reopened
}

/** Ticks that were taken back since their row was stored: few, so all of the cellar's are read at once. */
async function listTakenBack(db: Db, cellarId: string): Promise<ReadonlySet<string>> {
  const tick = alias(taskFact, 'tick')
  const rows = await db
    .selectDistinct({ key: taskFact.taskKey })
    .from(taskFact)
    .innerJoin(task, and(eq(task.cellarId, taskFact.cellarId), eq(task.key, taskFact.taskKey)))
    .innerJoin(tick, and(eq(tick.cellarId, taskFact.cellarId), eq(tick.id, taskFact.undoesId)))
    .where(
      and(
        eq(taskFact.cellarId, cellarId),
        eq(taskFact.kind, 'undo'),
        inArray(tick.kind, ['done', 'skip']),
        inArray(task.state, [...SETTLED]),
        gte(taskFact.writtenAt, task.changedAt),
      ),
    )
  return new Set(rows.map((r) => r.key))
}

function rowFor(
  cellarId: string,
  t: TaskPlan,
  old: Before | undefined,
  at: Temporal.Instant,
  reopened: ReadonlySet<string>,
  beside: (t: TaskPlan) => Beside,
): (typeof task.$inferInsert & { revision: number })[] {
  if (old && SETTLED.includes(old.state) && !reopened.has(t.key)) return []
  const print = fingerprint(t)
  const whole = rest(t)
  const content = digest([print, t.name, t.state, whole])
  if (old?.content === content) return []
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
      // Kept beside the plan: it alone rewrites no row.
      rest: { ...whole, ...beside(t) },
      cancelReason: null,
      skipReason: null,
      revision: old ? old.revision + (revised(old.fingerprint) === print ? 0 : 1) : 0,
      fingerprint: `${print}/${shown(t)}`,
      content,
      createdAt: at,
      changedAt: at,
    },
  ]
}

async function upsert(db: Db, rows: (typeof task.$inferInsert)[]): Promise<void> {
  await db
    .insert(task)
    .values(rows)
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
        // The stamp moves with all that a subscriber is shown, and with nothing else (RFC 5545 section 3.8.7.3).
        changedAt: sql`case when excluded.fingerprint <> ${task.fingerprint} then excluded.changed_at else ${task.changedAt} end`,
        revision: sql`excluded.revision`,
        fingerprint: sql`excluded.fingerprint`,
        content: sql`excluded.content`,
      },
    })
}

async function cancel(
  db: Db,
  cellarId: string,
  keys: readonly string[],
  at: Temporal.Instant,
  reasonFor: (key: string) => string,
): Promise<void> {
  // Few reasons, many tasks: one statement a reason.
  for (const reason of new Set(keys.map(reasonFor))) {
    const same = keys.filter((key) => reasonFor(key) === reason)
    for (let i = 0; i < same.length; i += CHUNK) {
      await db
        .update(task)
        .set({
          state: 'cancelled',
          cancelReason: reason,
          revision: sql`${task.revision} + 1`,
          changedAt: at,
          fingerprint: 'cancelled',
          content: 'cancelled',
        })
        .where(and(eq(task.cellarId, cellarId), inArray(task.key, same.slice(i, i + CHUNK))))
    }
  }
}

const textOf = (at: Temporal.Instant) => isoOf(at.epochMilliseconds)

const digest = (value: unknown) => createHash('sha256').update(JSON.stringify(value)).digest('base64url').slice(0, 22)

/** Planned turns due by the clock alone, which is no change anyone must be told of. */
const told = (state: TaskState) => (state === 'due' ? 'planned' : state)

/** Time, place, people, dose, state; and whether the date is still a forecast, which calendars show as tentative. */
const fingerprint = (t: TaskPlan) =>
  digest([
    textOf(t.startAt),
    textOf(t.endAt),
    t.fromVessels,
    t.toVessels,
    t.machines,
    t.people,
    t.doses.map((d) => [d.product, d.amount, d.unit]),
    told(t.state),
    t.forecast,
    ...(t.grain === 'day' ? [t.grain] : []),
  ])

/** What a subscriber sees besides: it moves the stamp, not the revision. */
const shown = (t: TaskPlan) =>
  digest([t.name, t.detail, t.caution, t.lotCode, t.next, t.doses.map((d) => d.arithmetic)])

/** The stored fingerprint's first half: what the revision stands for. */
const revised = (stored: string) => stored.split('/')[0]

const rest = (t: TaskPlan): TaskRestJson => ({
  detail: t.detail,
  grain: t.grain,
  crewMin: t.crewMin,
  crew: t.crew,
  ...(t.streams ? { streams: t.streams } : {}),
  ...(t.site === undefined ? {} : { site: t.site }),
  fromVessels: t.fromVessels,
  toVessels: t.toVessels,
  machines: t.machines,
  ...(t.volumeL === undefined ? {} : { volumeL: t.volumeL }),
  earliestAt: textOf(t.earliestAt),
  latestAt: textOf(t.latestAt),
  slackMin: t.slackMin,
  forecast: t.forecast,
  ...(t.spread ? { spread: { earliestAt: textOf(t.spread.earliestAt), latestAt: textOf(t.spread.latestAt) } } : {}),
  pinned: t.pinned,
  doses: t.doses,
  records: t.records,
  caution: t.caution,
  materials: t.materials,
  why: t.why,
  whyNotLater: t.whyNotLater,
  prev: t.prev,
  next: t.next,
  waits: t.waits,
  conflicts: t.conflicts,
  broken: t.broken,
})

const twice = (tasks: readonly TaskPlan[]) => tasks.find((t, i) => tasks.findIndex((o) => o.key === t.key) !== i)?.key
