import { sql } from 'drizzle-orm'
import {
  check,
  doublePrecision,
  foreignKey,
  index,
  jsonb,
  pgTable,
  primaryKey,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core'
import type { ReadingKind, TaskFactKind } from '../../api/protocol/facts.ts'
import { cellarId, instant } from '../columns.ts'
import { cellar, vesselOf } from './cellar.ts'
import { lot } from './lot.ts'

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
    /** This entry takes that one back, with the reason. */
    reversesId: text('reverses_id'),
    reason: text('reason'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('addition_reverses').on(t.cellarId, t.reversesId).where(sql`${t.reversesId} is not null`),
    index('addition_at').on(t.cellarId, t.addedAt),
    foreignKey({
      columns: [t.cellarId, t.reversesId],
      foreignColumns: [t.cellarId, t.id],
      name: 'addition_reverses_fk',
    }),
    check('addition_reason', sql`${t.reversesId} is null or ${t.reason} is not null`),
    index('addition_lot').on(t.cellarId, t.lotId, t.addedAt),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'addition_lot_fk' }),
    vesselOf('addition_vessel_fk', t.cellarId, t.vesselId),
    check('addition_amount', sql`${t.amount} >= 0`),
    check('addition_treated_l', sql`${t.treatedL} > 0 and ${t.treatedL} < 'Infinity'`),
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
    index('task_fact_done').on(t.cellarId, t.at).where(sql`${t.kind} = 'done'`),
    foreignKey({ columns: [t.cellarId, t.undoesId], foreignColumns: [t.cellarId, t.id], name: 'task_fact_undoes_fk' }),
    check('task_fact_undo', sql`(${t.kind} = 'undo') = (${t.undoesId} is not null)`),
  ],
)
