import { sql } from 'drizzle-orm'
import {
  type AnyPgColumn,
  boolean,
  check,
  doublePrecision,
  foreignKey,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core'
import type { Cellar, Machine, Rates, Role, Site, VesselKind, VesselState } from '../../api/protocol/facts.ts'
import { cellarId, instant, plainDate } from '../columns.ts'
import type { AbsenceJson, BookingJson, ShiftJson } from '../json.ts'

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
  sites: jsonb('sites').$type<Site[]>().notNull().default([]),
  /** Weeks planned to the minute and by name; beyond them to the day. */
  exactWeeks: integer('exact_weeks').notNull().default(8),
  demo: boolean('demo').notNull().default(false),
  version: integer('version').notNull().default(1),
  createdAt: instant('created_at').notNull(),
})

/** Who somebody is, whatever the cellar: the name and password to sign in with. A person stands for it in each cellar. */
export const account = pgTable(
  'account',
  {
    id: text('id').primaryKey(),
    /** Typed to sign in; told apart without regard to case. */
    name: text('name').notNull(),
    passwordHash: text('password_hash'),
    passwordChangedAt: instant('password_changed_at'),
    createdAt: instant('created_at').notNull(),
  },
  (t) => [uniqueIndex('account_name').on(sql`lower(${t.name})`)],
)

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
    absences: jsonb('absences').$type<AbsenceJson[]>().notNull(),
    /** Made when a password is first set; absent for those who come by link alone. */
    accountId: text('account_id').references(() => account.id),
    /** Gone for good: kept for what they did, signed in no more. */
    removedAt: instant('removed_at'),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('person_name').on(t.cellarId, t.name),
    uniqueIndex('person_account').on(t.accountId, t.cellarId),
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
    /** Name of one of the cellar's sites; absent: the cellar itself. */
    site: text('site'),
    state: text('state').$type<VesselState>().notNull(),
    /** State and fills as somebody last said them; wine and work since then go on from there. */
    saidState: text('said_state').$type<VesselState>().notNull(),
    saidFills: integer('said_fills'),
    /** Absent: before anything in the books. */
    saidAt: instant('said_at'),
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
    site: text('site'),
    bookings: jsonb('bookings').$type<BookingJson[]>().notNull(),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('machine_code').on(t.cellarId, t.code),
    check('machine_capacity', sql`${t.capacity} > 0 and ${t.capacity} <= 1000000`),
  ],
)

/** A row that names a vessel, or a person, of its own cellar. */
export const vesselOf = (name: string, cellarId: AnyPgColumn, id: AnyPgColumn) =>
  foreignKey({ name, columns: [cellarId, id], foreignColumns: [vessel.cellarId, vessel.id] })

export const personOf = (name: string, cellarId: AnyPgColumn, id: AnyPgColumn) =>
  foreignKey({ name, columns: [cellarId, id], foreignColumns: [person.cellarId, person.id] })
