import { and, asc, eq, inArray, isNull, notExists, or, sql } from 'drizzle-orm'
import type { AnyPgColumn } from 'drizzle-orm/pg-core'
import { alias } from 'drizzle-orm/pg-core'
import type { Addition, Reading, TaskFact, Transfer } from '../../api/protocol/facts.ts'
import type { Temporal } from '../../api/time.ts'
import { addition, movement, reading, taskFact } from '../schema.ts'
import type { Db } from '../types.ts'
import { appendEntries } from './record.ts'

/** Rows a statement; 13 columns a row stay far below the 65,535 parameters of the wire protocol. */
const CHUNK = 1_000

function chunks<T>(rows: readonly T[]): T[][] {
  return Array.from({ length: Math.ceil(rows.length / CHUNK) }, (_, i) => rows.slice(i * CHUNK, (i + 1) * CHUNK))
}

/** Absent instead of null, as the facts have it. */
function present<T extends object>(row: T): { [K in keyof T]: Exclude<T[K], null> } {
  return Object.fromEntries(Object.entries(row).filter(([, v]) => v !== null)) as {
    [K in keyof T]: Exclude<T[K], null>
  }
}

/** One lot, several, or absent for all. */
type Lots = string | readonly string[]
const ofLots = (column: AnyPgColumn, lots: Lots | undefined) =>
  lots === undefined ? undefined : inArray(column, typeof lots === 'string' ? [lots] : [...lots])

const readingFrom = ({ cellarId: _c, writtenAt: _w, ...rest }: typeof reading.$inferSelect): Reading => present(rest)
const additionFrom = ({
  cellarId: _c,
  writtenAt: _w,
  reversesId: _r,
  reason: _why,
  ...rest
}: typeof addition.$inferSelect): Addition => present(rest)
export type StoredTaskFact = TaskFact & { readonly writtenAt: Temporal.Instant; readonly opId?: string }
const factFrom = ({ cellarId: _c, ...rest }: typeof taskFact.$inferSelect): StoredTaskFact => present(rest)

export async function listReadings(db: Db, cellarId: string, lotId?: Lots): Promise<Reading[]> {
  const rows = await db
    .select()
    .from(reading)
    .where(and(eq(reading.cellarId, cellarId), ofLots(reading.lotId, lotId)))
    .orderBy(asc(reading.takenAt), asc(reading.id))
  return rows.map(readingFrom)
}

/** Without those that were taken back, and the entries that did so. */
export async function listAdditions(db: Db, cellarId: string, lotId?: Lots): Promise<Addition[]> {
  const back = alias(addition, 'back')
  const rows = await db
    .select()
    .from(addition)
    .where(
      and(
        eq(addition.cellarId, cellarId),
        ofLots(addition.lotId, lotId),
        isNull(addition.reversesId),
        notExists(
          db
            .select({ id: back.id })
            .from(back)
            .where(and(eq(back.cellarId, addition.cellarId), eq(back.reversesId, addition.id))),
        ),
      ),
    )
    .orderBy(asc(addition.addedAt), asc(addition.id))
  return rows.map(additionFrom)
}

/**
 * Moves of wine into vessels, as the planner reads them: told movements of the ledger with what was lost at them.
 * What was taken back by a correction is not among them; what was taken back with its tick is, once, since the tick
 * decides.
 */
export async function listTransfers(db: Db, cellarId: string, lotId?: Lots): Promise<Transfer[]> {
  const back = alias(movement, 'back')
  const rows = await db
    .select({ m: movement, undone: sql<boolean>`${back.id} is not null` })
    .from(movement)
    .leftJoin(back, and(eq(back.cellarId, movement.cellarId), eq(back.reversesId, movement.id)))
    .where(
      and(
        eq(movement.cellarId, cellarId),
        isNull(movement.reversesId),
        or(isNull(back.id), sql`starts_with(${back.opId}, ${UNDO_OP})`),
        lotId === undefined ? undefined : or(ofLots(movement.toLotId, lotId), ofLots(movement.fromLotId, lotId)),
      ),
    )
    .orderBy(asc(movement.at), asc(movement.entry))
  const wanted = lotId === undefined ? undefined : new Set(typeof lotId === 'string' ? [lotId] : lotId)
  const lossMl = new Map<string, number>()
  for (const { m } of rows)
    if (m.toKind === 'loss' || m.toKind === 'lees') lossMl.set(m.opId, (lossMl.get(m.opId) ?? 0) + m.volumeMl)
  const moves = rows.filter(
    ({ m }) =>
      m.toVesselId !== null &&
      m.toVesselId !== m.fromVesselId &&
      m.toLotId !== null &&
      (wanted === undefined || wanted.has(m.toLotId)) &&
      m.fromKind !== 'gain' &&
      m.cause !== 'received',
  )
  const sign = (m: typeof movement.$inferSelect) =>
    [m.taskKey, m.at.epochMilliseconds, m.fromVesselId, m.toVesselId, m.volumeMl].join(' ')
  const stands = new Set(moves.filter((r) => !r.undone).map((r) => sign(r.m)))
  const seen = new Set<string>()
  return moves
    .filter((r) => {
      // Told, taken back and told again: one move.
      if (!r.undone) return true
      if (stands.has(sign(r.m)) || seen.has(sign(r.m))) return false
      seen.add(sign(r.m))
      return true
    })
    .map(({ m }) => {
      const lost = lossMl.get(m.opId) ?? 0
      lossMl.delete(m.opId)
      return present({
        id: m.id,
        lotId: m.toLotId ?? '',
        fromVesselId: m.fromVesselId,
        toVesselId: m.toVesselId,
        volumeL: m.volumeMl / 1000,
        lossL: lost / 1000,
        movedAt: m.at,
        personId: m.people[0] ?? null,
        taskKey: m.taskKey,
      })
    })
}

/** Leads the operation that takes back the movements of a tick. */
export const UNDO_OP = 'undo:'

/** In the order they were written, which decides which of a kind counts. */
/** @param keys of one task, of several; absent for all */
export async function listTaskFacts(
  db: Db,
  cellarId: string,
  keys?: string | readonly string[],
): Promise<StoredTaskFact[]> {
  const rows = await db
    .select()
    .from(taskFact)
    .where(and(eq(taskFact.cellarId, cellarId), ofTasks(keys)))
    .orderBy(asc(taskFact.writtenAt), asc(taskFact.at), asc(taskFact.id))
  return rows.map(factFrom)
}

function ofTasks(keys: string | readonly string[] | undefined) {
  if (keys === undefined) return undefined
  if (typeof keys === 'string') return eq(taskFact.taskKey, keys)
  return sql`${taskFact.taskKey} = any(array(select jsonb_array_elements_text(${JSON.stringify(keys)}::jsonb)))`
}

/** @param opId of the operation that told it, where one did */
export async function recordReadings(
  db: Db,
  cellarId: string,
  readings: readonly Reading[],
  writtenAt: Temporal.Instant,
  opId?: string,
): Promise<void> {
  for (const rows of chunks(readings)) await db.insert(reading).values(rows.map((r) => ({ cellarId, writtenAt, ...r })))
  const entry = (r: Reading) => ({ kind: 'reading', subjectId: r.id, at: r.takenAt, writtenAt, opId, fact: { ...r } })
  await appendEntries(
    db,
    cellarId,
    readings.map((r) => ({ ...r, ...entry(r) })),
  )
}

/** @param opId of the operation that told it, where one did */
export async function recordAdditions(
  db: Db,
  cellarId: string,
  additions: readonly Addition[],
  writtenAt: Temporal.Instant,
  opId?: string,
): Promise<void> {
  for (const rows of chunks(additions))
    await db.insert(addition).values(rows.map((a) => ({ cellarId, writtenAt, ...a })))
  const entry = (a: Addition) => ({ kind: 'addition', subjectId: a.id, at: a.addedAt, writtenAt, opId, fact: { ...a } })
  await appendEntries(
    db,
    cellarId,
    additions.map((a) => ({ ...a, ...entry(a) })),
  )
}

/** @param opId of the operation that told it, where one did */
/**
 * Stores what people did. An entry with an operation id that is stored already is left alone.
 *
 * @returns ids of the entries that were new
 */
export async function recordTaskFacts(
  db: Db,
  cellarId: string,
  facts: readonly (TaskFact & { readonly opId?: string })[],
  writtenAt: Temporal.Instant,
): Promise<string[]> {
  const stored: string[] = []
  for (const rows of chunks(facts)) {
    const added = await db
      .insert(taskFact)
      .values(
        rows.map((f) => ({
          cellarId,
          writtenAt,
          ...f,
          people: f.people ? [...f.people] : null,
          vessels: f.vessels ? [...f.vessels] : null,
        })),
      )
      .onConflictDoNothing()
      .returning({ id: taskFact.id })
    stored.push(...added.map((r) => r.id))
  }
  const isNew = new Set(stored)
  await appendEntries(
    db,
    cellarId,
    facts
      .filter((f) => isNew.has(f.id))
      .map((f) => ({ ...f, subjectId: f.id, writtenAt, correctsId: f.undoesId, fact: { ...f } })),
  )
  return stored
}

/** Whether operations with these ids are stored already: resent entries are answered, not stored again. */
export async function knownOps(db: Db, cellarId: string, opIds: readonly string[]): Promise<Set<string>> {
  if (opIds.length === 0) return new Set()
  const rows = await db
    .select({ opId: taskFact.opId })
    .from(taskFact)
    .where(and(eq(taskFact.cellarId, cellarId), inArray(taskFact.opId, [...opIds])))
  return new Set(rows.map((r) => r.opId!))
}
