/** The book walked from its first movement to its last, a batch at a time: years of it pass in the room of one batch. */
import { type AdditionRow, listCounting } from '../../db/queries/dosed.ts'
import { listReceipts, listStanding, type MovementRow, movementOf, receiptOf } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import type { LedgerAddition, Movement } from '../cellar/ledger/movement.ts'
import { inOrder, vesselOf } from '../cellar/ledger/movement.ts'
import { type Level, type PageFault, pageOf } from '../cellar/ledger/page.ts'
import { type Fault, formOf, type LedgerState, replay, START } from '../cellar/ledger/replay.ts'
import { Temporal } from '../time.ts'
import { dosedInto } from './dosing.ts'

/** Movements read at once: some megabytes, and a stretch of work short enough for a server that answers meanwhile. */
const BATCH = 2_000

export interface Stretch {
  /** Of every movement that could have happened, at each vessel it touched. */
  readonly levels: readonly Level[]
  /** Movements and additions that could not; they are left out of what follows. */
  readonly faults: readonly (Fault | PageFault)[]
  readonly additions: readonly AdditionRow[]
  /** Millilitres that came in and went out of the cellar. */
  readonly inMl: number
  readonly outMl: number
}

/** Tells every stretch in order of time, and what stands at the end. Call inside a transaction that reads one moment. */
export async function walkLedger(
  db: Db,
  cellarId: string,
  limitMl: (vesselId: string) => number | undefined,
  tell: (stretch: Stretch) => Promise<void>,
  batch = BATCH,
): Promise<LedgerState> {
  const last = new Map<string, Level>()
  let state: LedgerState = START
  let rest: MovementRow[] = []
  let untilMs: number | undefined
  for (;;) {
    const from = rest.at(-1)
    const read = await listStanding(db, cellarId, from, batch)
    const isEnd = read.length < batch
    const rows = [...rest, ...read]
    // A moment is taken as a whole: what was added then depends on everything moved then.
    const lastMs = rows.at(-1)?.at.epochMilliseconds
    const cut = isEnd ? rows.length : rows.findIndex((r) => r.at.epochMilliseconds === lastMs)
    const whole = rows.slice(0, cut)
    rest = rows.slice(cut)
    if (whole.length === 0 && !isEnd) continue
    const throughMs = isEnd ? undefined : whole.at(-1)?.at.epochMilliseconds
    const additions = await listCounting(db, cellarId, {
      ...(untilMs === undefined ? {} : { fromAt: Temporal.Instant.fromEpochMilliseconds(untilMs + 1) }),
      ...(throughMs === undefined ? {} : { untilAt: endOf(throughMs) }),
    })
    untilMs = throughMs
    const ids = new Set(whole.flatMap((r) => r.receiptId ?? []))
    const receipts = new Map((await listReceipts(db, cellarId, [...ids])).map((r) => [r.id, receiptOf(r)]))
    const paged = pagedOn(inOrder(whole.map((r) => movementOf(r, receipts))), additions, last, limitMl)
    const played = replay(paged.movements, paged.doses, { limitMl, start: state })
    state = { ...played.state, receipts: new Map() }
    await tell({ ...paged, faults: [...paged.faults, ...played.faults], additions })
    if (isEnd) return state
  }
}

/** The last microsecond of a millisecond: the finest the database keeps. */
const endOf = (ms: number) => Temporal.Instant.fromEpochMilliseconds(ms + 1).subtract({ microseconds: 1 })

/** Pages go on from their last levels, which are moved along. */
function pagedOn(
  movements: readonly Movement[],
  additions: readonly AdditionRow[],
  last: Map<string, Level>,
  limitMl: (vesselId: string) => number | undefined,
) {
  const levels: Level[] = []
  const faults: (Fault | PageFault)[] = []
  const stood: Movement[] = []
  const doses: LedgerAddition[] = []
  let [inMl, outMl, next] = [0, 0, 0]
  /** Levels before the moment that is being walked, of the vessels it has touched. */
  let before = new Map<string, Level | undefined>()
  let atMs = Number.NEGATIVE_INFINITY
  const dose = (untilMs: number) => {
    for (let a = additions[next]; a && a.addedAt.epochMilliseconds <= untilMs; a = additions[++next])
      doses.push(...placedAt(a, last, a.addedAt.epochMilliseconds === atMs ? before : new Map()))
  }
  for (const m of movements) {
    if (m.atMs > atMs) {
      // Additions of the moment that ended, and of the time between: nothing moved then.
      dose(m.atMs - 1)
      atMs = m.atMs
      before = new Map()
    }
    const touched = [...new Set([vesselOf(m.from), vesselOf(m.to)])].filter((id) => id !== undefined)
    const pages = touched.map((id) => pageOf(id, [m], last.get(id), limitMl(id)))
    const form = formOf(m)
    const wrong = form ? { entryId: m.id, why: form } : pages.flatMap((p) => p.faults)[0]
    if (wrong) {
      faults.push(wrong)
      continue
    }
    stood.push(m)
    for (const l of pages.flatMap((p) => p.levels)) {
      if (!before.has(l.vesselId)) before.set(l.vesselId, last.get(l.vesselId))
      last.set(l.vesselId, l)
      levels.push(l)
    }
    if (vesselOf(m.from) === undefined) inMl += m.volumeMl
    if (vesselOf(m.to) === undefined) outMl += m.volumeMl
  }
  dose(Number.POSITIVE_INFINITY)
  return { movements: stood, doses, levels, faults, inMl, outMl }
}

/** An addition as the core takes it: one a vessel, at its place in the order. */
function placedAt(
  a: AdditionRow,
  last: ReadonlyMap<string, Level>,
  before: ReadonlyMap<string, Level | undefined>,
): LedgerAddition[] {
  const atMs = a.addedAt.epochMilliseconds
  const then = (a.vesselId === null ? [...last.keys()] : [a.vesselId]).map((vesselId) => {
    const now = last.get(vesselId)
    const was = before.has(vesselId) ? before.get(vesselId) : now
    return {
      vesselId,
      atMs,
      afterMl: now?.afterMl ?? 0,
      afterLotId: now?.afterLotId ?? null,
      beforeMl: was?.afterMl ?? 0,
      beforeLotId: was?.afterLotId ?? null,
    }
  })
  return dosedInto(a, then).map((d, i) => ({
    id: `${a.id}/${i}`,
    entry: d.entry,
    atMs,
    vesselId: d.vesselId,
    product: d.product,
    amountG: d.amount,
    batchNo: a.batchNo ?? '',
    personId: a.personId,
  }))
}
