import { sql } from 'drizzle-orm'
import { check, customType, foreignKey, index, integer, pgTable, primaryKey, text } from 'drizzle-orm/pg-core'
import type { TroubleKind } from '../../api/protocol/facts.ts'
import { cellarId, instant } from '../columns.ts'
import { cellar, personOf, vesselOf } from './cellar.ts'
import { lot } from './lot.ts'

const bytea = customType<{ data: Uint8Array; driverData: Uint8Array }>({ dataType: () => 'bytea' })

/** What somebody saw go wrong on the floor. Append-only; the plan raises work from it. */
export const trouble = pgTable(
  'trouble',
  {
    cellarId: cellarId().references(() => cellar.id),
    /** Made by the client, so that a report sent twice is stored once. */
    id: text('id').notNull(),
    kind: text('kind').$type<TroubleKind>().notNull(),
    lotId: text('lot_id'),
    vesselId: text('vessel_id'),
    /** The task it was seen at. */
    taskKey: text('task_key'),
    words: text('words').notNull(),
    personId: text('person_id').notNull(),
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('trouble_at').on(t.cellarId, t.at),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'trouble_lot_fk' }),
    vesselOf('trouble_vessel_fk', t.cellarId, t.vesselId),
    personOf('trouble_person_fk', t.cellarId, t.personId),
  ],
)

/** A winemaker has seen a report, or says that it is settled. */
export const troubleAnswer = pgTable(
  'trouble_answer',
  {
    cellarId: cellarId(),
    id: text('id').notNull(),
    troubleId: text('trouble_id').notNull(),
    kind: text('kind').$type<'seen' | 'settled'>().notNull(),
    words: text('words').notNull(),
    personId: text('person_id').notNull(),
    at: instant('at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('trouble_answer_of').on(t.cellarId, t.troubleId),
    foreignKey({
      columns: [t.cellarId, t.troubleId],
      foreignColumns: [trouble.cellarId, trouble.id],
      name: 'trouble_answer_trouble_fk',
    }),
    personOf('trouble_answer_person_fk', t.cellarId, t.personId),
    check('trouble_answer_kind', sql`${t.kind} in ('seen', 'settled')`),
  ],
)

/** What one shift tells the next. */
export const handover = pgTable(
  'handover',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    words: text('words').notNull(),
    personId: text('person_id').notNull(),
    at: instant('at').notNull(),
    writtenAt: instant('written_at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('handover_at').on(t.cellarId, t.at),
    personOf('handover_person_fk', t.cellarId, t.personId),
  ],
)

/** Who has read it, and when. */
export const handoverRead = pgTable(
  'handover_read',
  {
    cellarId: cellarId(),
    handoverId: text('handover_id').notNull(),
    personId: text('person_id').notNull(),
    at: instant('at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.handoverId, t.personId] }),
    foreignKey({
      columns: [t.cellarId, t.handoverId],
      foreignColumns: [handover.cellarId, handover.id],
      name: 'handover_read_handover_fk',
    }),
    personOf('handover_read_person_fk', t.cellarId, t.personId),
  ],
)

/** A picture taken at a task, a lot or a vessel. Small: the phone draws it anew before it is sent. */
export const photo = pgTable(
  'photo',
  {
    cellarId: cellarId().references(() => cellar.id),
    id: text('id').notNull(),
    taskKey: text('task_key'),
    lotId: text('lot_id'),
    vesselId: text('vessel_id'),
    words: text('words').notNull(),
    mime: text('mime').$type<'image/jpeg' | 'image/png' | 'image/webp'>().notNull(),
    size: integer('size').notNull(),
    sha256: text('sha256').notNull(),
    bytes: bytea('bytes').notNull(),
    personId: text('person_id').notNull(),
    takenAt: instant('taken_at').notNull(),
    writtenAt: instant('written_at').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.cellarId, t.id] }),
    index('photo_task').on(t.cellarId, t.taskKey),
    foreignKey({ columns: [t.cellarId, t.lotId], foreignColumns: [lot.cellarId, lot.id], name: 'photo_lot_fk' }),
    vesselOf('photo_vessel_fk', t.cellarId, t.vesselId),
    personOf('photo_person_fk', t.cellarId, t.personId),
    check('photo_size', sql`${t.size} > 0 and ${t.size} <= 163840 and ${t.size} = octet_length(${t.bytes})`),
    check('photo_mime', sql`${t.mime} in ('image/jpeg', 'image/png', 'image/webp')`),
  ],
)
