/** What operations other than acts on a task do: readings, reports, photos, notes to the next shift. */
import { createHash } from 'node:crypto'
import { z } from '@hono/zod-openapi'
import { listStock } from '../../db/queries/contents.ts'
import { recordHandover, recordPhoto, recordTrouble } from '../../db/queries/floor.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { listReadings, recordReadings } from '../../db/queries/records.ts'
import { notValid } from '../acts.ts'
import { moment, prose } from '../fields.ts'
import { newId } from '../ids.ts'
import { refuseFuture } from '../moments.ts'
import { photoBody, photoFrom } from '../photos.ts'
import { fieldErrors, problem } from '../problem.ts'
import { becauseOfReadings, measured, readingsBody } from '../readings.ts'
import { Temporal } from '../time.ts'
import { becauseOfTrouble, troubleBody, troubleFrom } from '../troubles.ts'
import type { Applied } from './applied.ts'
import type { OperationBody } from './body.ts'
import { type BatchScene, lotsOf, vesselsOf, zoneOf } from './ground.ts'
import type { Told } from './when.ts'

const handoverBody = z.strictObject({
  words: prose(2000).refine((t) => t.trim() !== '', 'is missing: what the next shift should know'),
  at: moment,
})

export async function applyReadings(c: BatchScene, op: OperationBody, when: Told): Promise<Applied> {
  const { db, who } = c.var
  const body = parsed(readingsBody, op.value)
  const ids = readingIds(op.opId, body.readings.length)
  const lots = await lotsOf(c)
  const zone = await zoneOf(c)
  const around = {
    lots,
    vessels: await vesselsOf(c),
    zone,
    nowAt: c.var.now(),
    personId: who.personId,
    ...(op.taskKey ? { taskKey: op.taskKey } : {}),
    defaultAt: when.at,
    id: () => newId(c.var.now().epochMilliseconds),
    earlier: await listReadings(
      db,
      who.cellarId,
      lots.filter((l) => body.readings.some((r) => r.lot === l.id || r.lot === l.code)).map((l) => l.id),
    ),
  }
  // Measured hours ago and hard to believe: kept and flagged, since nobody can measure it again now.
  const results = body.readings.map(({ confirmed, ...r }, i) =>
    measured({ ...r, ...(confirmed ? { confirmed } : {}), opId: ids[i]! }, around, `#/readings/${i}`),
  )
  const errors = results.flatMap((r) => r.errors)
  if (errors.length > 0) throw notValid(errors)
  const told = results.flatMap((r) => (r.reading ? [r.reading] : []))
  await recordReadings(db, who.cellarId, told, c.var.now(), op.opId)
  const warnings = results.flatMap((r) => r.warnings)
  return {
    state: warnings.length > 0 ? 'check' : 'stored',
    words: warnings.join(' '),
    ...(warnings.length > 0 ? { reason: 'measure-again' } : {}),
    because: becauseOfReadings(told, lots, zone),
  }
}

export async function applyTrouble(c: BatchScene, op: OperationBody, when: Told): Promise<Applied> {
  const body = parsed(troubleBody, { at: when.at.toString(), ...op.value, id: op.opId })
  const lots = await lotsOf(c)
  const told = troubleFrom(body, {
    ...(await groundFor(c)),
    lots,
    stock: await listStock(c.var.db, c.var.who.cellarId),
  })
  await recordTrouble(c.var.db, c.var.who.cellarId, told, c.var.now())
  const lotCode = lots.find((l) => l.id === told.lotId)?.code
  return { state: 'stored', words: '', because: becauseOfTrouble(told, lotCode) }
}

export async function applyPhoto(c: BatchScene, op: OperationBody, when: Told): Promise<Applied> {
  const value = {
    takenAt: when.at.toString(),
    ...(op.taskKey ? { taskKey: op.taskKey } : {}),
    ...op.value,
    id: op.opId,
  }
  const lots = await lotsOf(c)
  const row = photoFrom(parsed(photoBody, value), { ...(await groundFor(c)), cellarId: c.var.who.cellarId, lots })
  await recordPhoto(c.var.db, row)
  return { state: 'stored', words: '' }
}

export async function applyHandover(c: BatchScene, op: OperationBody, when: Told): Promise<Applied> {
  const body = parsed(handoverBody, { at: when.at.toString(), ...op.value })
  const at = Temporal.Instant.from(body.at)
  refuseFuture(at, c.var.now(), '#/value/at')
  const { cellarId, personId } = c.var.who
  await recordHandover(c.var.db, { cellarId, id: op.opId, words: body.words, personId, at, writtenAt: c.var.now() })
  return { state: 'stored', words: '' }
}

/** Somebody chose what is to become of a refused operation: done anew, kept as a note, shown. */
export async function applySettle(c: BatchScene, op: OperationBody, when: Told): Promise<Applied> {
  await appendEntry(c.var.db, c.var.who.cellarId, {
    kind: 'settle',
    subjectId: op.opId,
    opId: op.opId,
    personId: c.var.who.personId,
    at: when.at,
    writtenAt: c.var.now(),
    correctsId: String(op.value.of ?? ''),
    fact: op.value,
  })
  return { state: 'stored', words: '' }
}

async function groundFor(c: BatchScene) {
  return {
    vessels: await vesselsOf(c),
    nowAt: c.var.now(),
    personId: c.var.who.personId,
  }
}

function parsed<T>(schema: z.ZodType<T>, value: unknown): T {
  const result = schema.safeParse(value)
  if (result.success) return result.data
  throw problem(422, 'not-valid', 'Something in it does not fit', { errors: fieldErrors(result.error, '#/value') })
}

/** Several readings told at once: the first has the operation's own id, the others are made from it, the same each time. */
export function readingIds(opId: string, count: number): readonly string[] {
  return Array.from({ length: count }, (_, i) => {
    if (i === 0) return opId
    const hex = createHash('sha256').update(`${opId}/${i}`).digest('hex')
    return [
      hex.slice(0, 8),
      hex.slice(8, 12),
      `8${hex.slice(13, 16)}`,
      `8${hex.slice(17, 20)}`,
      hex.slice(20, 32),
    ].join('-')
  })
}
