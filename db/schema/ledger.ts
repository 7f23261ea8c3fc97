import { sql } from 'drizzle-orm'
import {
  type AnyPgColumn,
  bigint,
  boolean,
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
import type { Outside } from '../../api/cellar/ledger/movement.ts'
import { cellarId, instant } from '../columns.ts'
import type { CountLineJson, LedgerFaultJson } from '../json.ts'
import { cellar, vesselOf } from './cellar.ts'
import { lot } from './lot.ts'

/** Whole millilitres: 2^53 of them are nine million cubic metres. */
const millilitres = (name: string) => bigint(name, { mode: 'number' })

/** What came through the door once: the root of every share. */
export const receipt = pgTable(
  'receipt',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    kind: text('kind').$type<'fruit' | 'bought' | 'opening'>().notNull(),
    lotId: text('lot_id').notNull(),
    variety: text('variety').notNull(),
    vintage: text('vintage').notNull(),
    block: text('block').notNull(),
    origin: text('origin').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('receipt_lot').on(t.cellarId, t.lotId),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'receipt_lot_fk' }),
  ],
)

/**
 * The ledger: append-only, in whole millilitres. A wrong entry is taken back by one that names it and says why. From and
 * to the same vessel: its wine became another lot where it lies.
 */
export const movement = pgTable(
  'movement',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    /** Order of writing; decides between two movements of one moment. */
    entry: millilitres('entry').notNull(),
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
    fromKind: text('from_kind').$type<'vessel' | Outside>().notNull(),
    fromVesselId: text('from_vessel_id'),
    fromLotId: text('from_lot_id'),
    toKind: text('to_kind').$type<'vessel' | Outside>().notNull(),
    toVesselId: text('to_vessel_id'),
    toLotId: text('to_lot_id'),
    volumeMl: millilitres('volume_ml').notNull(),
    plannedMl: millilitres('planned_ml'),
    /** Dipped in the source before and in the target after, where somebody did. */
    measuredBeforeMl: millilitres('measured_before_ml'),
    measuredAfterMl: millilitres('measured_after_ml'),
    cause: text('cause').notNull(),
    people: jsonb('people').$type<string[]>().notNull(),
    receiptId: text('receipt_id'),
    taskKey: text('task_key'),
    /** Movements told in one go share it. */
    opId: text('op_id').notNull(),
    reversesId: text('reverses_id'),
    reason: text('reason'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    uniqueIndex('movement_entry').on(t.cellarId, t.entry),
    index('movement_at').on(t.cellarId, t.at, t.entry),
    index('movement_from_lot').on(t.cellarId, t.fromLotId, t.at),
    index('movement_to_lot').on(t.cellarId, t.toLotId, t.at),
    index('movement_task').on(t.cellarId, t.taskKey).where(sql`${t.taskKey} is not null`),
    index('movement_op').on(t.cellarId, t.opId),
    uniqueIndex('movement_reverses').on(t.cellarId, t.reversesId).where(sql`${t.reversesId} is not null`),
    vesselOf('movement_from_vessel_fk', t.cellarId, t.fromVesselId),
    vesselOf('movement_to_vessel_fk', t.cellarId, t.toVesselId),
    foreignKey({
      columns: [t.cellarId, t.fromLotId],
      foreignColumns: [lot.cellarId, lot.id],
      name: 'movement_from_fk',
    }),
    foreignKey({ columns: [t.cellarId, t.toLotId], foreignColumns: [lot.cellarId, lot.id], name: 'movement_to_fk' }),
    foreignKey({
      columns: [t.cellarId, t.receiptId],
      foreignColumns: [receipt.cellarId, receipt.id],
      name: 'movement_receipt_fk',
    }),
    foreignKey({
      columns: [t.cellarId, t.reversesId],
      foreignColumns: [t.cellarId, t.id],
      name: 'movement_reverses_fk',
    }),
    check('movement_volume', sql`${t.volumeMl} > 0`),
    check(
      'movement_from',
      sql`(${t.fromKind} = 'vessel') = (${t.fromVesselId} is not null) and (${t.fromKind} = 'vessel') = (${t.fromLotId} is not null)`,
    ),
    check(
      'movement_to',
      sql`(${t.toKind} = 'vessel') = (${t.toVesselId} is not null) and (${t.toKind} = 'vessel') = (${t.toLotId} is not null)`,
    ),
    check('movement_vessel', sql`${t.fromKind} = 'vessel' or ${t.toKind} = 'vessel'`),
    check('movement_reason', sql`${t.reversesId} is null or ${t.reason} is not null`),
  ],
)

/**
 * The page of each vessel: litres and lot after every movement. Derived from the movements and written with them, so
 * that a vessel can be asked at any moment without adding up its years.
 */
export const level = pgTable(
  'level',
  {
    cellarId: cellarId(),
    vesselId: text('vessel_id').notNull(),
    at: instant('at').notNull(),
    entry: millilitres('entry').notNull(),
    movementId: text('movement_id').notNull(),
    beforeMl: millilitres('before_ml').notNull(),
    afterMl: millilitres('after_ml').notNull(),
    beforeLotId: text('before_lot_id'),
    afterLotId: text('after_lot_id'),
    /** The movement since which the vessel has not been empty. */
    sinceAt: instant('since_at').notNull(),
    sinceEntry: millilitres('since_entry').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.vesselId, t.at, t.entry] }),
    // A vessel that others are topped from has a thousand draws a filling: what came in, and when it stood empty, apart.
    index('level_turn').on(t.cellarId, t.vesselId, t.at, t.entry).where(turns(t)),
    check('level_whole', sql`${t.beforeMl} >= 0 and ${t.afterMl} >= 0`),
  ],
)

/** Levels of wine that came in or became another lot, and of the end of it. */
function turns(t: { readonly beforeMl: AnyPgColumn; readonly afterMl: AnyPgColumn }) {
  return sql`${t.afterMl} >= ${t.beforeMl} or ${t.afterMl} = 0`
}

/** What is in each vessel now, and what it is made of. Derived; empty vessels have no row. */
export const content = pgTable(
  'content',
  {
    cellarId: cellarId(),
    vesselId: text('vessel_id').notNull(),
    lotId: text('lot_id').notNull(),
    volumeMl: millilitres('volume_ml').notNull(),
    sinceAt: instant('since_at').notNull(),
    /** Millilitres by receipt, and grams or millilitres by product. */
    sourcesMl: jsonb('sources_ml').$type<Record<string, number>>().notNull(),
    added: jsonb('added').$type<Record<string, number>>().notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.vesselId] }),
    index('content_lot').on(t.cellarId, t.lotId),
    vesselOf('content_vessel_fk', t.cellarId, t.vesselId),
    check('content_volume', sql`${t.volumeMl} > 0`),
  ],
)

/** A lot kept apart: it may not top another. Lifted, never removed. */
export const quarantine = pgTable(
  'quarantine',
  {
    cellarId: cellarId(),
    id: text('id').notNull(),
    lotId: text('lot_id').notNull(),
    since: instant('since').notNull(),
    personId: text('person_id'),
    reason: text('reason').notNull(),
    liftedAt: instant('lifted_at'),
    liftedBy: text('lifted_by'),
    liftReason: text('lift_reason'),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('quarantine_lot').on(t.cellarId, t.lotId),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'quarantine_lot_fk' }),
  ],
)

/** A count of the stock: what stood in the book, what was found, and how each difference was explained. */
export const stockCount = pgTable(
  'stock_count',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
    personId: text('person_id'),
    lines: jsonb('lines').$type<CountLineJson[]>().notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.id] }), index('stock_count_at').on(t.cellarId, t.at)],
)

/** What the nightly check found. */
export const ledgerCheck = pgTable(
  'ledger_check',
  {
    cellarId: cellarId().references(() => cellar.id),
    at: instant('at').notNull(),
    ok: boolean('ok').notNull(),
    movements: millilitres('movements').notNull(),
    tookMs: doublePrecision('took_ms').notNull(),
    faults: jsonb('faults').$type<LedgerFaultJson[]>().notNull(),
  },
  (t) => [primaryKey({ columns: [t.cellarId, t.at] })],
)
