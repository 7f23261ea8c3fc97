import { sql } from 'drizzle-orm'
import { boolean, check, foreignKey, integer, jsonb, pgTable, primaryKey, text, uniqueIndex } from 'drizzle-orm/pg-core'
import type { Choices } from '../../api/protocol/choices.ts'
import type { Fruit, Parent } from '../../api/protocol/facts.ts'
import { cellarId, instant, plainDate } from '../columns.ts'
import type { SignedJson } from '../json.ts'
import { cellar } from './cellar.ts'

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
    parents: jsonb('parents').$type<Parent[]>().notNull(),
    endedAt: instant('ended_at'),
    unplanned: boolean('unplanned').notNull().default(false),
    version: integer('version').notNull().default(1),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('lot_code').on(t.cellarId, t.code),
    // The code leads the keys of its tasks, where a slash parts and `house` is the work of no lot.
    check('lot_code_in_keys', sql`${t.code} !~ '[/[:space:]]' and ${t.code} not in ('', 'house')`),
  ],
)

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
