import { sql } from 'drizzle-orm'
import { bigint, check, index, jsonb, pgTable, primaryKey, text } from 'drizzle-orm/pg-core'
import { cellarId, instant } from '../columns.ts'
import type { OperationAnswerJson } from '../json.ts'
import { cellar, personOf } from './cellar.ts'

/**
 * Every fact once more, in the order of writing, each entry with the hash of the one before: a row that was changed
 * behind the application's back no longer fits. A trigger refuses update and delete.
 */
export const recordEntry = pgTable(
  'record_entry',
  {
    cellarId: cellarId().references(() => cellar.id),
    entry: bigint('entry', { mode: 'number' }).notNull(),
    /** What kind of fact: `reading`, `addition`, `done`, `choices`, `person`, ... */
    kind: text('kind').notNull(),
    /** Id of the row that was written. */
    subjectId: text('subject_id').notNull(),
    taskKey: text('task_key'),
    lotId: text('lot_id'),
    vesselId: text('vessel_id'),
    personId: text('person_id'),
    /** Made on the phone, where it came from one. */
    opId: text('op_id'),
    /** When it happened, as told. */
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
    /** Id of the row that this one corrects or takes back. */
    correctsId: text('corrects_id'),
    /** The fact as JSON, its fields in order of name. */
    payload: text('payload').notNull(),
    digest: text('digest').notNull(),
    previous: text('previous').notNull(),
    hash: text('hash').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.entry] }),
    index('record_entry_at').on(t.cellarId, t.at),
    index('record_entry_lot').on(t.cellarId, t.lotId, t.at),
    index('record_entry_vessel').on(t.cellarId, t.vesselId, t.at),
    index('record_entry_subject').on(t.cellarId, t.subjectId),
    check('record_entry_entry', sql`${t.entry} >= 1`),
  ],
)

/** What phones sent, by the id they gave it. The answer stands in the same transaction as what it did, and is given again. */
export const operation = pgTable(
  'operation',
  {
    cellarId: cellarId().references(() => cellar.id),
    opId: text('op_id').notNull(),
    /** Of the content: the same id for something else is refused. */
    digest: text('digest').notNull(),
    personId: text('person_id').notNull(),
    deviceId: text('device_id').notNull(),
    kind: text('kind').notNull(),
    taskKey: text('task_key'),
    /** When it happened, by the phone's own clock. */
    occurredAt: instant('occurred_at').notNull(),
    /** How far the phone's clock was ahead of the server's when they last spoke, ms. */
    clockOffsetMs: bigint('clock_offset_ms', { mode: 'number' }).notNull(),
    writtenAt: instant('written_at').notNull(),
    state: text('state').$type<'stored' | 'check' | 'refused'>().notNull(),
    answer: jsonb('answer').$type<OperationAnswerJson>().notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.opId] }),
    index('operation_device').on(t.cellarId, t.deviceId),
    index('operation_state').on(t.cellarId, t.state, t.writtenAt),
    personOf('operation_person_fk', t.cellarId, t.personId),
    check('operation_state_known', sql`${t.state} in ('stored', 'check', 'refused')`),
  ],
)
