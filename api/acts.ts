/** What people tell about a task, turned into facts. Checked here; stored by the route in one transaction. */
import { z } from '@hono/zod-openapi'
import { id, line, moment, opId, prose, wallTime } from './fields.ts'
import { newId } from './ids.ts'
import type { TickMove } from './ledger/tick.ts'
import { refuseFar, refuseFuture, toldAt } from './moments.ts'
import { type FieldError, fieldProblem, problem } from './problem.ts'
import type { Addition, Lot, Reading, TaskFact, TaskFactKind, Transfer, Vessel } from './protocol/facts.ts'
import { askAgain, measured, readingFields } from './readings.ts'
import { Temporal } from './time.ts'

const additionFields = {
  product: line(80).openapi({ example: 'potassium metabisulphite' }),
  amount: z.number().min(0).max(1_000_000),
  unit: z.enum(['g', 'kg', 'mL', 'L']),
  batchNo: line(60).optional(),
  treatedL: z.number().gt(0).max(1_000_000),
  vessel: id.optional().openapi({ description: 'Vessel code or id' }),
}

const movedFields = {
  from: id.optional().openapi({ description: 'Vessel code or id. Absent: as planned' }),
  to: id.optional().openapi({ description: 'Vessel code or id' }),
  out: z.enum(['loss', 'lees', 'sample']).optional().openapi({ description: 'It left the cellar: instead of `to`' }),
  volumeL: z.number().gt(0).max(1_000_000),
  lossL: z.number().min(0).max(100_000).default(0),
}

export const actBody = z
  .strictObject({
    opId: opId.optional(),
    at: moment.optional().openapi({ description: 'When it happened. Absent: now' }),
    atLocal: wallTime.optional(),
    startAt: moment.optional().openapi({ description: 'done: when it began; pin: where it is to stand' }),
    startAtLocal: wallTime.optional(),
    people: z.array(id).max(20).optional().openapi({ description: 'Person ids' }),
    vessels: z.array(id).max(100).optional().openapi({ description: 'Vessel codes or ids' }),
    andFollows: z
      .boolean()
      .optional()
      .openapi({ description: 'pin: false keeps the lot’s other tasks where they are. Absent: they follow' }),
    reason: prose(1000).optional(),
    note: prose(2000).optional(),
    readings: z.array(z.strictObject(readingFields)).max(50).optional(),
    additions: z.array(z.strictObject(additionFields)).max(20).optional(),
    volumeL: z.number().min(0).max(1_000_000).optional().openapi({ description: 'Litres moved, as measured' }),
    lossL: z.number().min(0).max(100_000).optional(),
    vesselsMoved: z
      .array(z.strictObject(movedFields))
      .max(100)
      .optional()
      .openapi({ description: 'Litres vessel by vessel, instead of volumeL; topping and samples need it' }),
  })
  .openapi('TaskAct', { example: { note: 'smells clean' } })

export type ActBody = z.output<typeof actBody>

export const ACTS = ['start', 'done', 'skip', 'pin', 'unpin', 'assign', 'note', 'acknowledge', 'caution'] as const
export type Act = (typeof ACTS)[number]

/** Names that the body may use, and where it all happens. */
export interface Ground {
  readonly taskKey: string
  readonly lot: Lot | undefined
  readonly people: readonly { readonly id: string; readonly name: string }[]
  readonly vessels: readonly Vessel[]
  readonly zone: string
  readonly nowAt: Temporal.Instant
  readonly personId: string
  /** Vessels and litres as planned. */
  readonly planned?: { readonly from: readonly string[]; readonly to: readonly string[]; readonly volumeL?: number }
  /** Stored readings of the lot, for telling a jump from a step. */
  readonly earlier?: readonly Reading[]
}

export interface Told {
  readonly fact: TaskFact & { readonly opId?: string }
  readonly readings: readonly Reading[]
  readonly additions: readonly Addition[]
  readonly transfers: readonly Transfer[]
  /** The same for the ledger, which knows what the vessels hold. */
  readonly move?: TickMove
  /** Measure again: stored, but hard to believe. */
  readonly warnings: readonly string[]
}

/** @throws a problem that names every field that does not fit */
export function told(act: Act, body: ActBody, ground: Ground): Told {
  const { nowAt, zone, taskKey, personId } = ground
  const id = () => newId(nowAt.epochMilliseconds)
  const at = toldAt({ utc: body.at, local: body.atLocal }, zone, '#/at') ?? nowAt
  refuseFuture(at, nowAt, '#/at')
  refuseFar(at, nowAt, '#/at')
  const startAt = toldAt({ utc: body.startAt, local: body.startAtLocal }, zone, '#/startAt')
  if (startAt) refuseFar(startAt, nowAt, '#/startAt')
  needs(act, body, startAt)
  if (act === 'done' && startAt) {
    refuseFuture(startAt, nowAt, '#/startAt')
    if (startAt.epochMilliseconds > at.epochMilliseconds) throw fieldProblem('#/startAt', 'must not be later than at')
  }
  const reason = [body.reason, body.note].filter(Boolean).join('. ')
  const fact = {
    id: id(),
    ...(body.opId ? { opId: body.opId } : {}),
    taskKey,
    kind: act satisfies TaskFactKind,
    at,
    personId,
    ...(startAt ? { startAt } : {}),
    ...(body.people ? { people: peopleNamed(body.people, ground) } : {}),
    ...(body.vessels ? { vessels: vesselsNamed(body.vessels, ground) } : {}),
    ...(reason ? { reason } : {}),
  }
  const records = recordsOf(body, ground, at, id)
  return { fact, ...records }
}

function needs(act: Act, body: ActBody, startAt: Temporal.Instant | undefined): void {
  if (act === 'pin' && !startAt) throw fieldProblem('#/startAt', 'is missing: where the task is to stand')
  if (act !== 'pin' && body.andFollows !== undefined) throw fieldProblem('#/andFollows', 'goes with a pin')
  if (act === 'assign' && !body.people?.length) throw fieldProblem('#/people', 'is missing: who is to do it')
  if (act === 'note' && !body.note?.trim()) throw fieldProblem('#/note', 'is missing: the note')
  if (act === 'caution' && !body.reason?.trim()) throw fieldProblem('#/reason', 'is missing: the words that were read')
  const records = body.readings?.length || body.additions?.length || tellsLitres(body)
  if (records && act !== 'done' && act !== 'note') {
    throw fieldProblem('#/readings', 'readings, additions and litres are told with done or note')
  }
}

function recordsOf(body: ActBody, ground: Ground, at: Temporal.Instant, id: () => string) {
  const { lot, personId, taskKey } = ground
  if (!lot) {
    const any = body.readings?.length || body.additions?.length || tellsLitres(body)
    if (any) throw fieldProblem('#/readings', 'this task belongs to no lot: readings, additions and litres need one')
    return { readings: [], additions: [], transfers: [], warnings: [] }
  }
  const results = (body.readings ?? []).map((r, i) =>
    measured({ ...r, lot: lot.id }, { ...ground, lots: [lot], taskKey, defaultAt: at, id }, `#/readings/${i}`),
  )
  const errors = results.flatMap((r) => r.errors)
  if (errors.length > 0) throw notValid(errors)
  askAgain(results)
  const additions = (body.additions ?? []).map((a, i) => ({
    id: id(),
    lotId: lot.id,
    ...(a.vessel === undefined ? {} : { vesselId: vesselNamed(a.vessel, ground, `#/additions/${i}/vessel`) }),
    product: a.product,
    amount: a.amount,
    unit: a.unit,
    ...(a.batchNo === undefined ? {} : { batchNo: a.batchNo }),
    treatedL: a.treatedL,
    addedAt: at,
    personId,
    taskKey,
  }))
  const vessels = body.vessels ? vesselsNamed(body.vessels, ground) : []
  const move = moveOf(body, ground, lot, at, vessels)
  const transfers = (move?.parts ?? []).length > 0 ? partTransfers(move, id) : wholeTransfer(body, move, id)
  return {
    readings: results.flatMap((r) => (r.reading ? [r.reading] : [])),
    additions,
    transfers,
    ...(move ? { move } : {}),
    warnings: results.flatMap((r) => r.warnings),
  }
}

const tellsLitres = (body: ActBody): boolean => body.volumeL !== undefined || Boolean(body.vesselsMoved?.length)

/** What the ledger is to book. @throws a problem where the parts do not fit */
function moveOf(
  body: ActBody,
  ground: Ground,
  lot: Lot,
  at: Temporal.Instant,
  vessels: readonly string[],
): TickMove | undefined {
  if (!tellsLitres(body)) return undefined
  if (body.volumeL !== undefined && body.vesselsMoved?.length)
    throw fieldProblem('#/vesselsMoved', 'is given beside volumeL: give one of the two')
  const parts = (body.vesselsMoved ?? []).map((p, i) => {
    if ((p.to === undefined) === (p.out === undefined))
      throw fieldProblem(`#/vesselsMoved/${i}/to`, 'give either to or out')
    const from = p.from === undefined ? undefined : vesselNamed(p.from, ground, `#/vesselsMoved/${i}/from`)
    const to = p.to === undefined ? undefined : vesselNamed(p.to, ground, `#/vesselsMoved/${i}/to`)
    if (from !== undefined && from === to) throw fieldProblem(`#/vesselsMoved/${i}/to`, 'is where it came from')
    return {
      ...(from === undefined ? {} : { from }),
      ...(to === undefined ? {} : { to }),
      ...(p.out === undefined ? {} : { out: p.out }),
      volumeL: p.volumeL,
      lossL: p.lossL,
    }
  })
  const planned = ground.planned
  return {
    lot,
    taskKey: ground.taskKey,
    step: ground.taskKey.split('/')[1] ?? '',
    at,
    people: body.people?.length ? peopleNamed(body.people, ground) : [ground.personId],
    plannedFrom: planned?.from ?? [],
    plannedTo: planned?.to ?? [],
    ...(planned?.volumeL ? { plannedL: planned.volumeL } : {}),
    vessels,
    ...(body.volumeL === undefined ? {} : { volumeL: body.volumeL, lossL: body.lossL ?? 0 }),
    parts,
  }
}

const wholeTransfer = (body: ActBody, move: TickMove | undefined, id: () => string): Transfer[] =>
  move === undefined || body.volumeL === undefined
    ? []
    : [
        {
          id: id(),
          lotId: move.lot.id,
          ...(move.vessels.length === 1 ? { toVesselId: move.vessels[0] ?? '' } : {}),
          volumeL: body.volumeL,
          lossL: body.lossL ?? 0,
          movedAt: move.at,
          ...(move.people[0] === undefined ? {} : { personId: move.people[0] }),
          taskKey: move.taskKey,
        },
      ]

const partTransfers = (move: TickMove | undefined, id: () => string): Transfer[] =>
  (move?.parts ?? []).map((p) => ({
    id: id(),
    lotId: move?.lot.id ?? '',
    ...(p.from === undefined ? {} : { fromVesselId: p.from }),
    ...(p.to === undefined ? {} : { toVesselId: p.to }),
    volumeL: p.volumeL,
    lossL: p.lossL,
    movedAt: move?.at ?? Temporal.Instant.fromEpochMilliseconds(0),
    ...(move?.taskKey === undefined ? {} : { taskKey: move.taskKey }),
  }))

export const notValid = (errors: readonly FieldError[]) =>
  problem(422, 'not-valid', 'Something in the request does not fit', { errors })

const peopleNamed = (names: readonly string[], ground: Ground) =>
  names.map((name, i) => {
    const found = ground.people.find((p) => p.id === name)
    if (!found) throw fieldProblem(`#/people/${i}`, `is not known: ${name} is nobody here`)
    return found.id
  })

const vesselsNamed = (names: readonly string[], ground: Ground) =>
  names.map((name, i) => vesselNamed(name, ground, `#/vessels/${i}`))

export function vesselNamed(name: string, ground: Pick<Ground, 'vessels'>, pointer: string): string {
  const found = ground.vessels.find((v) => v.code === name || v.id === name)
  if (!found) throw fieldProblem(pointer, `is not known: there is no vessel ${name}`)
  return found.id
}
