import { sql } from 'drizzle-orm'
import {
  type AnyPgColumn,
  boolean,
  check,
  doublePrecision,
  foreignKey,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core'
import type { Choices } from '../api/protocol/choices.ts'
import type {
  Cellar,
  Fruit,
  Machine,
  Rates,
  ReadingKind,
  Role,
  TaskFactKind,
  VesselKind,
  VesselState,
} from '../api/protocol/facts.ts'
import type { Family, PhaseKind, TaskState } from '../api/protocol/types.ts'
import { instant, plainDate } from './columns.ts'
import type { BookingJson, PlanStateJson, ShiftJson, SignedJson, TaskRestJson } from './json.ts'

/**
 * Every table leads with the cellar: keys, indexes and references. Facts (choices, readings, additions, transfers,
 * what was done) are append-only or versioned; `task`, `phase` and `plan_state` are derived from them.
 */
const cellarId = () => text('cellar_id').notNull()

export const cellar = pgTable('cellar', {
  id: text('id').primaryKey(),
  name: text('name').notNull(),
  hemisphere: text('hemisphere').$type<Cellar['hemisphere']>().notNull(),
  vintage: integer('vintage').notNull(),
  zone: text('zone').notNull(),
  units: text('units').$type<Cellar['units']>().notNull(),
  sugarUnit: text('sugar_unit').$type<Cellar['sugarUnit']>().notNull(),
  language: text('language').notNull(),
  rates: jsonb('rates').$type<Rates>().notNull(),
  holidays: jsonb('holidays').$type<{ on: string; name: string }[]>().notNull(),
  demo: boolean('demo').notNull().default(false),
  version: integer('version').notNull().default(1),
  createdAt: instant('created_at').notNull(),
})

export const person = pgTable(
  'person',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    name: text('name').notNull(),
    role: text('role').$type<Role>().notNull(),
    post: text('post').notNull(),
    skills: jsonb('skills').$type<string[]>().notNull(),
    language: text('language').notNull(),
    shifts: jsonb('shifts').$type<ShiftJson[]>().notNull(),
    fromOn: plainDate('from_on'),
    untilOn: plainDate('until_on'),
    absences: jsonb('absences').$type<{ fromAt: string; toAt: string; reason: string }[]>().notNull(),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('person_name').on(t.cellarId, t.name),
    check('person_role', sql`${t.role} in ('owner', 'winemaker', 'hand', 'lab', 'viewer')`),
    check('person_span', sql`${t.untilOn} >= ${t.fromOn}`),
  ],
)

export const vessel = pgTable(
  'vessel',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    code: text('code').notNull(),
    kind: text('kind').$type<VesselKind>().notNull(),
    volumeL: doublePrecision('volume_l').notNull(),
    jacket: boolean('jacket').notNull(),
    insulated: boolean('insulated').notNull(),
    minC: doublePrecision('min_c'),
    pressureBar: doublePrecision('pressure_bar').notNull(),
    row: text('row'),
    fills: integer('fills'),
    state: text('state').$type<VesselState>().notNull(),
    bookings: jsonb('bookings').$type<BookingJson[]>().notNull(),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('vessel_code').on(t.cellarId, t.code),
    check('vessel_volume_l', sql`${t.volumeL} > 0 and ${t.volumeL} <= 1000000`),
  ],
)

export const machine = pgTable(
  'machine',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    code: text('code').notNull(),
    kind: text('kind').$type<Machine['kind']>().notNull(),
    name: text('name').notNull(),
    capacity: doublePrecision('capacity').notNull(),
    press: jsonb('press').$type<Machine['press']>(),
    bookings: jsonb('bookings').$type<BookingJson[]>().notNull(),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('machine_code').on(t.cellarId, t.code),
    check('machine_capacity', sql`${t.capacity} > 0 and ${t.capacity} <= 1000000`),
  ],
)

export const lot = pgTable(
  'lot',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    variety: text('variety').notNull(),
    block: text('block').notNull(),
    place: text('place').notNull(),
    vintage: integer('vintage').notNull(),
    pickOn: plainDate('pick_on').notNull(),
    fruit: jsonb('fruit').$type<Fruit>().notNull(),
    choicesVersion: integer('choices_version').notNull(),
    vesselPins: jsonb('vessel_pins').$type<Record<string, string[]>>().notNull(),
    parents: jsonb('parents').$type<{ lotId: string; share: number }[]>().notNull(),
    endedAt: instant('ended_at'),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('lot_code').on(t.cellarId, t.code),
    // The code leads the keys of its tasks, where a slash parts and `house` is the work of no lot.
    check('lot_code_in_keys', sql`${t.code} !~ '[/[:space:]]' and ${t.code} not in ('', 'house')`),
  ],
)

const vesselOf = (name: string, cellar: AnyPgColumn, id: AnyPgColumn) =>
  foreignKey({ name, columns: [cellar, id], foreignColumns: [vessel.cellarId, vessel.id] })

const personOf = (name: string, cellar: AnyPgColumn, id: AnyPgColumn) =>
  foreignKey({ name, columns: [cellar, id], foreignColumns: [person.cellarId, person.id] })

/** Every version of a lot's answers, with the reasons signed for conflicts. The newest counts. */
export const choiceVersion = pgTable(
  'choice_version',
  {
    cellarId: cellarId(),
    lotId: text('lot_id').notNull(),
    version: integer('version').notNull(),
    choices: jsonb('choices').$type<Choices>().notNull(),
    signed: jsonb('signed').$type<SignedJson[]>().notNull(),
    personId: text('person_id'),
    at: instant('at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.lotId, t.version] }),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'choice_version_lot' }),
  ],
)

/** A set of answers kept under a name. */
export const protocol = pgTable(
  'protocol',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    name: text('name').notNull(),
    choices: jsonb('choices').$type<Choices>().notNull(),
    version: integer('version').notNull().default(1),
    changedAt: instant('changed_at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.id] }), uniqueIndex('protocol_name').on(t.cellarId, t.name)],
)

export const reading = pgTable(
  'reading',
  {
    cellarId: cellarId(),
    id: text('id').notNull(),
    lotId: text('lot_id').notNull(),
    vesselId: text('vessel_id'),
    kind: text('kind').$type<ReadingKind>().notNull(),
    value: doublePrecision('value').notNull(),
    takenAt: instant('taken_at').notNull(),
    writtenAt: instant('written_at').notNull(),
    personId: text('person_id'),
    taskKey: text('task_key'),
    correctsId: text('corrects_id'),
    note: text('note'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('reading_lot').on(t.cellarId, t.lotId, t.takenAt),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'reading_lot_fk' }),
    vesselOf('reading_vessel_fk', t.cellarId, t.vesselId),
    foreignKey({
      columns: [t.cellarId, t.correctsId],
      foreignColumns: [t.cellarId, t.id],
      name: 'reading_corrects_fk',
    }),
    // NaN and the infinities are numbers to the database; nobody measures them.
    check('reading_value', sql`${t.value} > '-Infinity' and ${t.value} < 'Infinity'`),
  ],
)

export const addition = pgTable(
  'addition',
  {
    cellarId: cellarId(),
    id: text('id').notNull(),
    lotId: text('lot_id').notNull(),
    vesselId: text('vessel_id'),
    product: text('product').notNull(),
    amount: doublePrecision('amount').notNull(),
    unit: text('unit').$type<'g' | 'kg' | 'mL' | 'L'>().notNull(),
    batchNo: text('batch_no'),
    treatedL: doublePrecision('treated_l').notNull(),
    addedAt: instant('added_at').notNull(),
    writtenAt: instant('written_at').notNull(),
    personId: text('person_id').notNull(),
    taskKey: text('task_key'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('addition_lot').on(t.cellarId, t.lotId, t.addedAt),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'addition_lot_fk' }),
    vesselOf('addition_vessel_fk', t.cellarId, t.vesselId),
    check('addition_amount', sql`${t.amount} >= 0`),
    check('addition_treated_l', sql`${t.treatedL} > 0 and ${t.treatedL} < 'Infinity'`),
  ],
)

export const transfer = pgTable(
  'transfer',
  {
    cellarId: cellarId(),
    id: text('id').notNull(),
    lotId: text('lot_id').notNull(),
    fromVesselId: text('from_vessel_id'),
    toVesselId: text('to_vessel_id'),
    volumeL: doublePrecision('volume_l').notNull(),
    lossL: doublePrecision('loss_l').notNull(),
    movedAt: instant('moved_at').notNull(),
    writtenAt: instant('written_at').notNull(),
    personId: text('person_id'),
    taskKey: text('task_key'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('transfer_lot').on(t.cellarId, t.lotId, t.movedAt),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'transfer_lot_fk' }),
    vesselOf('transfer_from_fk', t.cellarId, t.fromVesselId),
    vesselOf('transfer_to_fk', t.cellarId, t.toVesselId),
    check('transfer_volume_l', sql`${t.volumeL} >= 0`),
    check('transfer_loss_l', sql`${t.lossL} > '-Infinity' and ${t.lossL} < 'Infinity'`),
  ],
)

/** What people did to tasks: append-only; `undo` names the entry it takes back. */
export const taskFact = pgTable(
  'task_fact',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    /** Made by the client, so that a resent entry is stored once. */
    opId: text('op_id'),
    taskKey: text('task_key').notNull(),
    kind: text('kind').$type<TaskFactKind>().notNull(),
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
    personId: text('person_id'),
    startAt: instant('start_at'),
    people: jsonb('people').$type<string[]>(),
    vessels: jsonb('vessels').$type<string[]>(),
    reason: text('reason'),
    undoesId: text('undoes_id'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('task_fact_op').on(t.cellarId, t.opId),
    index('task_fact_task').on(t.cellarId, t.taskKey, t.writtenAt),
    foreignKey({ columns: [t.cellarId, t.undoesId], foreignColumns: [t.cellarId, t.id], name: 'task_fact_undoes_fk' }),
    check('task_fact_undo', sql`(${t.kind} = 'undo') = (${t.undoesId} is not null)`),
  ],
)

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

export const feed = pgTable(
  'feed',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    /** SHA-256 of the token; the token itself is shown once and stored nowhere. */
    tokenHash: text('token_hash').notNull(),
    kind: text('kind').$type<'cellar' | 'person' | 'lot' | 'vessels' | 'family'>().notNull(),
    subject: text('subject').notNull(),
    name: text('name').notNull(),
    personId: text('person_id').notNull(),
    language: text('language').notNull(),
    showDoses: boolean('show_doses').notNull().default(false),
    alarmMin: jsonb('alarm_min').$type<Partial<Record<Family, number>>>().notNull(),
    version: integer('version').notNull().default(1),
    createdAt: instant('created_at').notNull(),
    revokedAt: instant('revoked_at'),
    lastFetchAt: instant('last_fetch_at'),
    lastClient: text('last_client'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('feed_token').on(t.tokenHash),
    personOf('feed_person_fk', t.cellarId, t.personId),
  ],
)

export const credential = pgTable(
  'credential',
  {
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    passwordHash: text('password_hash').notNull(),
    changedAt: instant('changed_at').notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.personId] }), personOf('credential_person_fk', t.cellarId, t.personId)],
)

export const session = pgTable(
  'session',
  {
    tokenHash: text('token_hash').primaryKey(),
    cellarId: cellarId(),
    personId: text('person_id').notNull(),
    createdAt: instant('created_at').notNull(),
    seenAt: instant('seen_at').notNull(),
    expiresAt: instant('expires_at').notNull(),
    client: text('client').notNull(),
  },
  (t) => [index('session_person').on(t.cellarId, t.personId), personOf('session_person_fk', t.cellarId, t.personId)],
)

export const loginLink = pgTable('login_link', {
  tokenHash: text('token_hash').primaryKey(),
  cellarId: cellarId(),
  /** Absent: the link of an empty installation, for making the first cellar. */
  personId: text('person_id'),
  createdAt: instant('created_at').notNull(),
  expiresAt: instant('expires_at').notNull(),
  usedAt: instant('used_at'),
})
