import { sql } from 'drizzle-orm'
import { check, doublePrecision, index, integer, jsonb, pgTable, primaryKey, text } from 'drizzle-orm/pg-core'
import type { Family, PhaseKind, TaskState } from '../../api/protocol/types.ts'
import { cellarId, instant } from '../columns.ts'
import type { PlanStateJson, TaskRestJson } from '../json.ts'
import { cellar } from './cellar.ts'

/** The plan as people know it. Never deleted: what is no longer needed is cancelled with a reason. */
export const task = pgTable(
  'task',
  {
    cellarId: cellarId().references(() => cellar.id),
    /** `lot/step/count`: made from meaning, the same over every re-planning. */
    key: text('key').notNull(),
    lotId: text('lot_id'),
    lotCode: text('lot_code').notNull(),
    step: text('step').notNull(),
    count: integer('count').notNull(),
    family: text('family').$type<Family>().notNull(),
    name: text('name').notNull(),
    startAt: instant('start_at').notNull(),
    endAt: instant('end_at').notNull(),
    state: text('state').$type<TaskState>().notNull(),
    people: jsonb('people').$type<string[]>().notNull(),
    rest: jsonb('rest').$type<TaskRestJson>().notNull(),
    cancelReason: text('cancel_reason'),
    skipReason: text('skip_reason'),
    /** Rises only when time, place, people, dose or state change; the feed's SEQUENCE. */
    revision: integer('revision').notNull().default(0),
    /** Digest of what the revision stands for, and of everything. */
    fingerprint: text('fingerprint').notNull(),
    content: text('content').notNull(),
    createdAt: instant('created_at').notNull(),
    changedAt: instant('changed_at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.key] }),
    index('task_start').on(t.cellarId, t.startAt),
    index('task_end').on(t.cellarId, t.endAt),
    index('task_lot').on(t.cellarId, t.lotId, t.startAt),
    check('task_revision', sql`${t.revision} >= 0`),
    check('task_ends_after_start', sql`${t.endAt} >= ${t.startAt}`),
    check('task_cancel_reason', sql`(${t.state} = 'cancelled') = (${t.cancelReason} is not null)`),
  ],
)

export const phase = pgTable(
  'phase',
  {
    cellarId: cellarId().references(() => cellar.id),
    key: text('key').notNull(),
    lotId: text('lot_id').notNull(),
    lotCode: text('lot_code').notNull(),
    kind: text('kind').$type<PhaseKind>().notNull(),
    vessels: jsonb('vessels').$type<string[]>().notNull(),
    volumeL: doublePrecision('volume_l').notNull(),
    startAt: instant('start_at').notNull(),
    endAt: instant('end_at').notNull(),
    endEarliestAt: instant('end_earliest_at'),
    endLatestAt: instant('end_latest_at'),
    ratePerDay: jsonb('rate_per_day').$type<number[]>().notNull(),
    tempC: doublePrecision('temp_c').notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.key] }), index('phase_start').on(t.cellarId, t.startAt)],
)

export const planState = pgTable('plan_state', {
  cellarId: text('cellar_id')
    .primaryKey()
    .references(() => cellar.id),
  /** Counts plans that changed something. */
  revision: integer('revision').notNull().default(0),
  plannedAt: instant('planned_at').notNull(),
  state: jsonb('state').$type<PlanStateJson>().notNull(),
})
