/** Readings as people send them: each field checked against the lot, the vessel, the clock and what wine can be. */
import { z } from '@hono/zod-openapi'
import { plausible, usualOfLot } from './cellar/plausible.ts'
import { brixOfDensity, densityOfBrix } from './cellar/sugar.ts'
import { id, moment, opId, prose, wallTime } from './fields.ts'
import { farWords, GAP_WORDS, wallMoment } from './moments.ts'
import { type FieldError, problem } from './problem.ts'
import { type Lot, READING_KINDS, type Reading, type Vessel } from './protocol/facts.ts'
import type { Because } from './protocol/moved.ts'
import { Temporal } from './time.ts'

/** Smell is scored; the rest are quantities with their own unit. */
export const readingFields = {
  opId: opId.optional(),
  kind: z.enum(READING_KINDS).openapi({ example: 'brix' }),
  value: z.number().openapi({
    description: 'brix Bx, density kg/m3, sugar g/L, temp C, ta g/L tartaric, malic g/L, yan mg/L N, SO2 mg/L, ...',
    example: 12.4,
  }),
  takenAt: moment.optional(),
  takenAtLocal: wallTime.optional(),
  vessel: id.optional().openapi({ description: 'Vessel code or id' }),
  note: prose(500).optional(),
  confirmed: z.boolean().optional().openapi({
    description:
      'false: a reading that is hard to believe is not stored, the answer asks for a second measurement; true: it was measured again and stands. Absent: it is stored, with a warning',
  }),
  corrects: id.optional().openapi({ description: 'Id of the reading that this one corrects' }),
}

export const readingBody = z.strictObject({ lot: id.openapi({ description: 'Lot id or code' }), ...readingFields })

export const readingsBody = z
  .strictObject({ readings: z.array(readingBody).min(1).max(200) })
  .openapi('NewReadings', { example: { readings: [{ lot: 'L01', kind: 'brix', value: 12.4 }] } })

export interface Around {
  readonly lots: readonly Lot[]
  readonly vessels: readonly Vessel[]
  readonly zone: string
  readonly nowAt: Temporal.Instant
  readonly personId: string
  readonly taskKey?: string
  /** When nothing else is said. */
  readonly defaultAt: Temporal.Instant
  readonly id: () => string
  /** Stored readings of the lot, for telling a jump from a step. */
  readonly earlier?: readonly Reading[]
}

export interface Measured {
  readonly reading?: Reading
  readonly errors: readonly FieldError[]
  readonly warnings: readonly string[]
  /** Hard to believe, and whoever sent it wants to be asked before it is stored. */
  readonly doubts: readonly FieldError[]
}

/** One reading: all that does not fit at once, or the reading with what is hard to believe about it. */
export function measured(body: z.output<typeof readingBody>, around: Around, pointer: string): Measured {
  const errors: FieldError[] = []
  const bad = (field: string, detail: string) => errors.push({ pointer: `${pointer}/${field}`, detail })

  const lot = around.lots.find((l) => l.id === body.lot || l.code === body.lot)
  if (!lot) bad('lot', `is not known: there is no lot ${body.lot}`)
  const vessel = body.vessel && around.vessels.find((v) => v.code === body.vessel || v.id === body.vessel)
  if (body.vessel && !vessel) bad('vessel', `is not known: there is no vessel ${body.vessel}`)
  const takenAt = takenOf(body, around, bad)
  if (body.corrects && around.earlier && !around.earlier.some((r) => r.id === body.corrects)) {
    bad('corrects', 'is not known: there is no such reading of this lot')
  }
  const last = lastBefore(body.kind, lot?.id, takenAt, around.earlier ?? [], body.corrects)
  const judged = plausible(body.kind, body.value, last, lot && usualOfLot(lot.fruit))
  if (judged.verdict === 'refused') bad('value', judged.words)
  const isDoubtful = judged.verdict === 'again'
  if (errors.length > 0 || !lot) return { errors, warnings: [], doubts: [] }
  return {
    reading: {
      id: body.opId ?? around.id(),
      lotId: lot.id,
      ...(vessel ? { vesselId: vessel.id } : {}),
      kind: body.kind,
      value: body.value,
      takenAt,
      personId: around.personId,
      ...(around.taskKey === undefined ? {} : { taskKey: around.taskKey }),
      ...(body.corrects === undefined ? {} : { correctsId: body.corrects }),
      ...(body.note ? { note: body.note } : {}),
    },
    errors: [],
    warnings: isDoubtful && body.confirmed === undefined ? [judged.words] : [],
    doubts: isDoubtful && body.confirmed === false ? [{ pointer: `${pointer}/value`, detail: judged.words }] : [],
  }
}

const AHEAD_MS = 5 * 60_000

function takenOf(
  body: { readonly takenAt?: string | undefined; readonly takenAtLocal?: string | undefined },
  around: Around,
  bad: (field: string, detail: string) => void,
): Temporal.Instant {
  if (body.takenAt && body.takenAtLocal) bad('takenAt', 'is given twice: as UTC and as local time. Give one')
  let at = body.takenAt ? Temporal.Instant.from(body.takenAt) : around.defaultAt
  if (!body.takenAt && body.takenAtLocal) {
    const wall = wallMoment(body.takenAtLocal, around.zone)
    if (wall.ok) at = wall.value
    else {
      const words =
        wall.why === 'gap' ? GAP_WORDS(body.takenAtLocal, around.zone) : 'must be a local time such as 2027-03-22T08:00'
      bad('takenAtLocal', words)
    }
  }
  const field = body.takenAtLocal && !body.takenAt ? 'takenAtLocal' : 'takenAt'
  if (at.epochMilliseconds > around.nowAt.epochMilliseconds + AHEAD_MS) {
    bad(field, 'must not lie in the future: check the day and the hour')
    return at
  }
  const far = farWords(at, around.nowAt)
  if (far) bad(field, far)
  return at
}

function lastBefore(
  kind: string,
  lotId: string | undefined,
  at: Temporal.Instant,
  earlier: readonly Reading[],
  corrects: string | undefined,
) {
  const corrected = new Set([...earlier.flatMap((r) => r.correctsId ?? []), corrects])
  const last = earlier
    .filter((r) => r.lotId === lotId && !corrected.has(r.id))
    .flatMap((r) => {
      const value = asKind(r, kind)
      return value === undefined ? [] : [{ ...r, value }]
    })
    .filter((r) => r.takenAt.epochMilliseconds <= at.epochMilliseconds)
    .sort((a, b) => a.takenAt.epochMilliseconds - b.takenAt.epochMilliseconds)
    .at(-1)
  if (!last) return undefined
  return { value: last.value, hoursAgo: (at.epochMilliseconds - last.takenAt.epochMilliseconds) / 3_600_000 }
}

/** A hydrometer reads Brix or density: one is told by the other. */
function asKind(r: Reading, kind: string): number | undefined {
  if (r.kind === kind) return r.value
  if (kind === 'brix' && r.kind === 'density' && r.value > 985 && r.value < 1190) return brixOfDensity(r.value)
  if (kind === 'density' && r.kind === 'brix' && r.value > -5 && r.value < 45) return densityOfBrix(r.value)
  return undefined
}

/** @throws a problem that names each reading somebody should take again, or send as confirmed */
export function askAgain(results: readonly Measured[]): void {
  const errors = results.flatMap((r) => r.doubts)
  if (errors.length === 0) return
  throw problem(409, 'measure-again', 'Hard to believe: measure again, or confirm it', {
    detail: 'Nothing was stored. Send it with confirmed: true when it stands.',
    errors,
  })
}

/** `density 1012 of L01`: what tasks that move are told. */
export function becauseOfReadings(readings: readonly Reading[], lots: readonly Lot[], zone: string): Because {
  const [only] = readings
  const lotIds = new Set(readings.map((r) => r.lotId))
  if (!only || readings.length > 1) {
    return {
      ...(only && lotIds.size === 1 ? { lotId: only.lotId } : {}),
      lotIds: [...lotIds],
      asks: true,
      words: `${readings.length} readings were written down`,
    }
  }
  const on = only.takenAt.toZonedDateTimeISO(zone).toPlainDate()
  const code = lots.find((l) => l.id === only.lotId)?.code ?? only.lotId
  return { lotId: only.lotId, asks: true, words: `${only.kind} ${only.value} of ${code} was read on ${on}` }
}
