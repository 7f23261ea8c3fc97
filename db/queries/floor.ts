import { and, asc, desc, eq, gte, inArray } from 'drizzle-orm'
import type { Trouble } from '../../api/protocol/facts.ts'
import type { Temporal } from '../../api/time.ts'
import { handover, handoverRead, photo, trouble, troubleAnswer } from '../schema.ts'
import type { Db } from '../types.ts'
import { appendEntry } from './record.ts'

export type StoredTrouble = typeof trouble.$inferSelect
export type StoredAnswer = typeof troubleAnswer.$inferSelect
export type StoredHandover = typeof handover.$inferSelect
export type StoredPhoto = typeof photo.$inferSelect
/** Everything but the picture itself. */
export type PhotoLine = Omit<StoredPhoto, 'bytes' | 'cellarId'>

const present = <T extends object>(row: T) =>
  Object.fromEntries(Object.entries(row).filter(([, value]) => value !== null)) as {
    [K in keyof T]: Exclude<T[K], null>
  }

/** Reports of a cellar, oldest first. */
export async function listTroubles(db: Db, cellarId: string): Promise<Trouble[]> {
  const rows = await db
    .select()
    .from(trouble)
    .where(eq(trouble.cellarId, cellarId))
    .orderBy(asc(trouble.at), asc(trouble.id))
  return rows.map(({ cellarId: _c, writtenAt: _w, ...rest }) => present(rest))
}

export const listAnswers = (db: Db, cellarId: string): Promise<StoredAnswer[]> =>
  db
    .select()
    .from(troubleAnswer)
    .where(eq(troubleAnswer.cellarId, cellarId))
    .orderBy(asc(troubleAnswer.at), asc(troubleAnswer.id))

/** @returns false where a report with this id is stored already */
export async function recordTrouble(
  db: Db,
  cellarId: string,
  told: Trouble,
  writtenAt: Temporal.Instant,
): Promise<boolean> {
  return db.transaction(async (tx) => {
    const stored = await tx
      .insert(trouble)
      .values({ cellarId, writtenAt, ...told })
      .onConflictDoNothing()
      .returning({ id: trouble.id })
    if (stored.length === 0) return false
    const entry = { kind: 'trouble', subjectId: told.id, opId: told.id, writtenAt, fact: { ...told } }
    await appendEntry(tx, cellarId, { ...told, ...entry })
    return true
  })
}

export async function recordAnswer(db: Db, row: StoredAnswer): Promise<void> {
  await db.transaction(async (tx) => {
    const [stored] = await tx.insert(troubleAnswer).values(row).onConflictDoNothing().returning()
    if (!stored) return
    const { cellarId, ...fact } = stored
    const entry = { kind: 'trouble-answer', subjectId: row.id, writtenAt: row.at, fact }
    await appendEntry(tx, cellarId, { ...fact, ...entry })
  })
}

/** Newest first. */
export const listHandovers = (db: Db, cellarId: string, fromAt: Temporal.Instant): Promise<StoredHandover[]> =>
  db
    .select()
    .from(handover)
    .where(and(eq(handover.cellarId, cellarId), gte(handover.at, fromAt)))
    .orderBy(desc(handover.at), desc(handover.id))

export const listHandoverReads = (db: Db, cellarId: string, ids: readonly string[]) =>
  ids.length === 0
    ? Promise.resolve([])
    : db
        .select()
        .from(handoverRead)
        .where(and(eq(handoverRead.cellarId, cellarId), inArray(handoverRead.handoverId, [...ids])))
        .orderBy(asc(handoverRead.at), asc(handoverRead.personId))

export async function findHandover(db: Db, cellarId: string, id: string): Promise<StoredHandover | undefined> {
  const [row] = await db
    .select()
    .from(handover)
    .where(and(eq(handover.cellarId, cellarId), eq(handover.id, id)))
  return row
}

/** @returns false where a note with this id is stored already */
export async function recordHandover(db: Db, row: StoredHandover): Promise<boolean> {
  return db.transaction(async (tx) => {
    const stored = await tx.insert(handover).values(row).onConflictDoNothing().returning({ id: handover.id })
    if (stored.length === 0) return false
    const { cellarId, writtenAt, ...fact } = row
    await appendEntry(tx, cellarId, { ...fact, kind: 'handover', subjectId: row.id, opId: row.id, writtenAt, fact })
    return true
  })
}

/** The first reading of it counts. */
export async function recordHandoverRead(
  db: Db,
  cellarId: string,
  handoverId: string,
  personId: string,
  at: Temporal.Instant,
): Promise<void> {
  await db.insert(handoverRead).values({ cellarId, handoverId, personId, at }).onConflictDoNothing()
}

const LINE = {
  id: photo.id,
  taskKey: photo.taskKey,
  lotId: photo.lotId,
  vesselId: photo.vesselId,
  words: photo.words,
  mime: photo.mime,
  size: photo.size,
  sha256: photo.sha256,
  personId: photo.personId,
  takenAt: photo.takenAt,
  writtenAt: photo.writtenAt,
}

/** Pictures of a task, a lot or a vessel, oldest first, without their bytes. */
export const listPhotos = (
  db: Db,
  cellarId: string,
  of: {
    readonly taskKey?: string | undefined
    readonly lotId?: string | undefined
    readonly vesselId?: string | undefined
  },
): Promise<PhotoLine[]> =>
  db
    .select(LINE)
    .from(photo)
    .where(
      and(
        eq(photo.cellarId, cellarId),
        of.taskKey === undefined ? undefined : eq(photo.taskKey, of.taskKey),
        of.lotId === undefined ? undefined : eq(photo.lotId, of.lotId),
        of.vesselId === undefined ? undefined : eq(photo.vesselId, of.vesselId),
      ),
    )
    .orderBy(asc(photo.takenAt), asc(photo.id))
    .limit(500)

export async function findPhoto(db: Db, cellarId: string, id: string): Promise<StoredPhoto | undefined> {
  const [row] = await db
    .select()
    .from(photo)
    .where(and(eq(photo.cellarId, cellarId), eq(photo.id, id)))
  return row
}

/** @returns false where a picture with this id is stored already */
export async function recordPhoto(db: Db, row: StoredPhoto): Promise<boolean> {
  return db.transaction(async (tx) => {
    const stored = await tx.insert(photo).values(row).onConflictDoNothing().returning({ id: photo.id })
    if (stored.length === 0) return false
    // Its digest stands for the picture.
    const { cellarId, writtenAt, bytes: _b, ...fact } = row
    const entry = { kind: 'photo', subjectId: row.id, opId: row.id, at: row.takenAt, writtenAt, fact }
    await appendEntry(tx, cellarId, { ...fact, ...entry })
    return true
  })
}
