import { type Held, levelsAt, listHeld } from '../../db/queries/levels.ts'
import { listNewestOf, listReceipts, type ReceiptRow } from '../../db/queries/movements.ts'
import { listReadings } from '../../db/queries/records.ts'
import type { Db } from '../../db/types.ts'
import { type FlowBack, lotNode } from '../cellar/ledger/flow.ts'
import type { Level } from '../cellar/ledger/page.ts'
import type {
  HoldingWire,
  QuarantineWire,
  ReadingToldWire,
  So2Wire,
  StockWire,
  VesselLedgerWire,
} from '../ledger-wire.ts'
import type { Reading } from '../protocol/facts.ts'
import { isoOf, Temporal } from '../time.ts'
import { atMoment, type Closure, closureOf, followed } from './closure.ts'
import { type Look, lotRef, readNames, vesselRef } from './look.ts'
import {
  addedToWire,
  claimsOf,
  compositionToWire,
  contentToWire,
  inL,
  movementsToWire,
  so2Of,
  sourcesToWire,
} from './shapes.ts'

export const MOST_MOVEMENTS = 200
/** What was last moved in a vessel that stands empty. */
const MOST_OF_EMPTY = 20
const MOST_READINGS = 200

export const receiptsFor = async (
  db: Db,
  cellarId: string,
  ids: Iterable<string>,
): Promise<ReadonlyMap<string, ReceiptRow>> =>
  new Map((await listReceipts(db, cellarId, [...new Set(ids)])).map((r) => [r.id, r]))

/** What every vessel holds at a moment. */
export async function stockAt(db: Db, look: Look, at: Temporal.Instant): Promise<StockWire> {
  const levels = await levelsAt(db, look.cellarId, at)
  await readNames(db, look, { vessels: 'all', lots: [...levels.values()].map((l) => l.afterLotId) })
  const contents = look.vessels.all().map((v) => contentToWire(look, v.id, levels.get(v.id)))
  const byLot = new Map<string, { ml: number; vessels: number }>()
  let totalMl = 0
  for (const l of levels.values()) {
    if (l.afterMl === 0 || l.afterLotId === undefined) continue
    const known = byLot.get(l.afterLotId) ?? { ml: 0, vessels: 0 }
    byLot.set(l.afterLotId, { ml: known.ml + l.afterMl, vessels: known.vessels + 1 })
    totalMl += l.afterMl
  }
  return {
    at: at.toString(),
    contents,
    lots: [...byLot]
      .map(([id, x]) => ({
        lot: lotRef(look, id),
        volumeL: inL(x.ml),
        vessels: x.vessels,
        quarantined: look.quarantined.has(id),
      }))
      .sort((a, b) => (a.lot.code < b.lot.code ? -1 : 1)),
    totalL: inL(totalMl),
  }
}

/** Wine of some vessels at a moment, followed back. */
export interface Followed {
  readonly closure: Closure
  readonly back: FlowBack
  readonly levels: readonly Level[]
  readonly volumeMl: number
}

export async function followAt(
  db: Db,
  cellarId: string,
  levels: readonly Level[],
  at: Temporal.Instant,
): Promise<Followed> {
  const full = levels.filter((l) => l.afterMl > 0)
  const closure =
    full.length === 0
      ? { inflows: [], dosed: [], cut: false }
      : await closureOf(
          db,
          cellarId,
          full.map((l) => atMoment(l.vesselId, at.epochMilliseconds)),
        )
  const back = followed(
    closure,
    full.map((l) => ({ vesselId: l.vesselId, lotId: l.afterLotId ?? '', volumeMl: l.afterMl })),
  )
  return { closure, back, levels: full, volumeMl: full.reduce((ml, l) => ml + l.afterMl, 0) }
}

export async function madeOf(
  db: Db,
  look: Look,
  f: Followed,
  receipts: ReadonlyMap<string, ReceiptRow>,
  readings: readonly Reading[],
) {
  await readNames(db, look, { lots: [...receipts.values()].map((r) => r.lotId) })
  const composition = compositionToWire(f.back.sourcesMl, receipts)
  const added = addedToWire(f.back.added, f.volumeMl)
  const total = readings.findLast((r) => r.kind === 'total-so2')
  const so2: So2Wire = {
    ...so2Of(added),
    ...(total ? { measuredTotalMgPerL: total.value, measuredAt: total.takenAt.toString() } : {}),
  }
  return {
    composition,
    sources: sourcesToWire(look, f.back.sourcesMl, receipts),
    added,
    so2,
    claims: claimsOf(composition, inL(f.volumeMl)),
  }
}

export async function vesselLedger(
  db: Db,
  look: Look,
  vesselId: string,
  at: Temporal.Instant,
): Promise<VesselLedgerWire> {
  const { cellarId } = look
  const level = (await levelsAt(db, cellarId, at, { vesselIds: [vesselId] })).get(vesselId)
  const isFull = level !== undefined && level.afterMl > 0
  const [f, held, moved] = await Promise.all([
    followAt(db, cellarId, level ? [level] : [], at),
    listHeld(db, cellarId, [vesselId], at),
    listNewestOf(db, cellarId, vesselId, at, isFull ? MOST_MOVEMENTS : MOST_OF_EMPTY, isFull ? level : undefined),
  ])
  const { rows } = moved
  const behind = lotsBehind(f)
  const [read, receipts] = await Promise.all([
    readingsUntil(db, look, behind, at),
    receiptsFor(db, cellarId, f.back.sourcesMl.keys()),
  ])
  // All names at once: one question instead of one a part.
  await readNames(db, look, {
    vessels: [vesselId, ...rows.flatMap((r) => [r.fromVesselId, r.toVesselId]), ...read.map((r) => r.vesselId)],
    lots: [
      level?.afterLotId,
      ...held.map((h) => h.lotId),
      ...rows.flatMap((r) => [r.fromLotId, r.toLotId]),
      ...behind,
      ...read.map((r) => r.lotId),
      ...[...receipts.values()].map((r) => r.lotId),
    ],
  })
  const movements = await movementsToWire(db, look, rows)
  const own = read.filter((r) => r.lotId === level?.afterLotId)
  const quarantined = isFull ? look.quarantined.get(level.afterLotId ?? '') : undefined
  return {
    at: at.toString(),
    content: contentToWire(look, vesselId, level),
    ...(await madeOf(db, look, f, receipts, own)),
    quarantine: quarantineToWire(look, quarantined),
    movements,
    movementsLeftOff: isFull ? moved.count - rows.length : 0,
    held: held.map((h) => holdingToWire(look, vesselId, h)).reverse(),
    readings: readingsToWire(look, read, f),
  }
}

export const quarantineToWire = (
  look: Look,
  q: Look['quarantined'] extends ReadonlyMap<string, infer Q> ? Q | undefined : never,
): QuarantineWire | null =>
  q
    ? {
        id: q.id,
        since: q.since.toString(),
        reason: q.reason,
        person: q.personId === null ? '' : look.person(q.personId),
      }
    : null

/** Lots whose wine is in it, the lots themselves among them. */
export const lotsBehind = (f: Followed): readonly string[] =>
  [...f.back.throughMl.keys()].filter((k) => k.startsWith('lot:')).map((k) => k.slice(4))

/** Readings of lots up to a moment, in order of time. */
export async function readingsUntil(db: Db, look: Look, lotIds: readonly string[], at: Temporal.Instant) {
  if (lotIds.length === 0) return []
  const all = await listReadings(db, look.cellarId, lotIds)
  return all.filter((r) => Temporal.Instant.compare(r.takenAt, at) <= 0)
}

/** Newest first, each with the share of its lot that was in the wine read. */
export const readingsToWire = (look: Look, read: readonly Reading[], f: Followed): ReadingToldWire[] =>
  read
    .slice(-MOST_READINGS)
    .reverse()
    .map((r) => ({
      id: r.id,
      lot: lotRef(look, r.lotId),
      ...(r.vesselId === undefined ? {} : { vesselCode: look.vessel(r.vesselId) }),
      kind: r.kind,
      value: r.value,
      takenAt: r.takenAt.toString(),
      ...(f.volumeMl > 0 ? { share: Math.min(1, (f.back.throughMl.get(lotNode(r.lotId)) ?? 0) / f.volumeMl) } : {}),
    }))

/** A lot that a vessel held, and when. */
export const holdingToWire = (look: Look, vesselId: string, h: Held): HoldingWire => ({
  vessel: vesselRef(look, vesselId),
  lot: lotRef(look, h.lotId),
  fromAt: isoOf(h.fromMs),
  ...(h.toMs === null ? {} : { toAt: isoOf(h.toMs) }),
  mostL: inL(h.mostMl),
})
