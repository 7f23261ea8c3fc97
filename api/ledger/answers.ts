/** What is in a vessel, where a lot is, and how it got there. */
import { listAllAdditions } from '../../db/queries/dosed.ts'
import { listChildren } from '../../db/queries/ledger-sums.ts'
import { levelsAt, listLevels, listNewest } from '../../db/queries/levels.ts'
import { listMovements, listReceipts, type ReceiptRow } from '../../db/queries/movements.ts'
import { listReadings } from '../../db/queries/records.ts'
import type { Db } from '../../db/types.ts'
import { type FlowBack, lotNode } from '../cellar/ledger/flow.ts'
import type { Level } from '../cellar/ledger/page.ts'
import type {
  HoldingWire,
  LotLedgerWire,
  QuarantineWire,
  ReadingToldWire,
  So2Wire,
  StockWire,
  VesselLedgerWire,
} from '../ledger-wire.ts'
import type { Reading } from '../protocol/facts.ts'
import { Temporal } from '../time.ts'
import { atMoment, type Closure, closureOf, followed } from './closure.ts'
import { type Look, lotRef, readNames, vesselRef } from './look.ts'
import {
  addedToWire,
  additionToWire,
  claimsOf,
  compositionToWire,
  contentToWire,
  inL,
  movementsToWire,
  roundL,
  so2Of,
  sourcesToWire,
} from './shapes.ts'
import { WOOD } from './states.ts'

const MOST_MOVEMENTS = 200
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

async function madeOf(
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
  const [f, turns, moved] = await Promise.all([
    followAt(db, cellarId, level ? [level] : [], at),
    listLevels(db, cellarId, { vesselIds: [vesselId], toAt: at.add({ milliseconds: 1 }), turns: true }),
    newestMoved(db, cellarId, vesselId, at, isFull ? level : undefined),
  ])
  const { rows, leftOff } = moved
  await readNames(db, look, {
    vessels: [vesselId, ...rows.flatMap((r) => [r.fromVesselId, r.toVesselId])],
    lots: [level?.afterLotId, ...lotsOn(turns), ...rows.flatMap((r) => [r.fromLotId, r.toLotId]), ...lotsBehind(f)],
  })
  const [readings, receipts, movements] = await Promise.all([
    readingsOf(db, look, lotsBehind(f), at),
    receiptsFor(db, cellarId, f.back.sourcesMl.keys()),
    movementsToWire(db, look, rows),
  ])
  const own = readings.own.filter((r) => r.lotId === level?.afterLotId)
  const quarantined = isFull ? look.quarantined.get(level.afterLotId ?? '') : undefined
  return {
    at: at.toString(),
    content: contentToWire(look, vesselId, level),
    ...(await madeOf(db, look, f, receipts, own)),
    quarantine: quarantineToWire(look, quarantined),
    movements,
    movementsLeftOff: isFull ? leftOff : 0,
    held: holdings(look, vesselId, turns).reverse(),
    readings: readings.told(f),
  }
}

/** What was last moved in a vessel: of the wine in it, or, where it stands empty, some of what was. */
async function newestMoved(db: Db, cellarId: string, vesselId: string, at: Temporal.Instant, full: Level | undefined) {
  const { levels, count } = await listNewest(db, cellarId, vesselId, at, full ? MOST_MOVEMENTS : MOST_OF_EMPTY, full)
  const rows = await listMovements(db, cellarId, { ids: levels.map((l) => l.movementId), newestFirst: true })
  return { rows, leftOff: count - levels.length }
}

const quarantineToWire = (
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
const lotsBehind = (f: Followed): readonly string[] =>
  [...f.back.throughMl.keys()].filter((k) => k.startsWith('lot:')).map((k) => k.slice(4))

/** Readings of every lot it was, newest first, each with the share of it that was in the wine read. */
async function readingsOf(db: Db, look: Look, lotIds: readonly string[], at: Temporal.Instant) {
  const own =
    lotIds.length === 0
      ? []
      : (await listReadings(db, look.cellarId, lotIds)).filter((r) => Temporal.Instant.compare(r.takenAt, at) <= 0)
  await readNames(db, look, { vessels: own.map((r) => r.vesselId), lots: own.map((r) => r.lotId) })
  return {
    own,
    told: (f: Followed): ReadingToldWire[] =>
      own
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
        })),
  }
}

const lotsOn = (page: readonly Level[]): readonly (string | undefined)[] => page.map((l) => l.afterLotId)

/** The lots a vessel has held, one after the other. */
function holdings(look: Look, vesselId: string, page: readonly Level[]): HoldingWire[] {
  const out: (HoldingWire & { toAt?: string; mostL: number })[] = []
  for (const l of page) {
    const open = out.at(-1)
    const at = () => Temporal.Instant.fromEpochMilliseconds(l.atMs).toString()
    if (open && open.toAt === undefined && open.lot.id !== l.afterLotId) open.toAt = at()
    if (l.afterLotId === undefined) continue
    const now = out.at(-1)
    if (!now || now.toAt !== undefined)
      out.push({
        vessel: vesselRef(look, vesselId),
        lot: lotRef(look, l.afterLotId),
        fromAt: at(),
        mostL: inL(l.afterMl),
      })
    else now.mostL = Math.max(now.mostL, inL(l.afterMl))
  }
  return out
}

export async function lotLedger(db: Db, look: Look, lotId: string, at: Temporal.Instant): Promise<LotLedgerWire> {
  const { cellarId } = look
  const levels = [...(await levelsAt(db, cellarId, at)).values()].filter((l) => l.afterMl > 0 && l.afterLotId === lotId)
  const f = await followAt(db, cellarId, levels, at)
  const toAt = at.add({ milliseconds: 1 })
  const rows = await listMovements(db, cellarId, { lotId, toAt, newestFirst: true, limit: MOST_MOVEMENTS + 1 })
  const shown = rows.slice(0, MOST_MOVEMENTS)
  const behind = [...new Set([lotId, ...lotsBehind(f)])]
  const readings = await readingsOf(db, look, behind, at)
  const additions = await listAllAdditions(db, cellarId, { lotIds: behind, toAt })
  await readNames(db, look, {
    vessels: [...levels.map((l) => l.vesselId), ...additions.map((a) => a.vesselId)],
    lots: [...behind, ...f.closure.inflows.map((i) => i.fromLotId)],
  })
  const lot = look.lots.get(lotId)
  return {
    at: at.toString(),
    lot: lotRef(look, lotId),
    ...(lot?.endedAt ? { endedAt: lot.endedAt } : {}),
    volumeL: inL(f.volumeMl),
    where: levels.map((l) => contentToWire(look, l.vesselId, l)),
    ...(await madeOf(
      db,
      look,
      f,
      await receiptsFor(db, cellarId, f.back.sourcesMl.keys()),
      readings.own.filter((r) => r.lotId === lotId),
    )),
    quarantine: quarantineToWire(look, look.quarantined.get(lotId)),
    parents: parentsOf(look, f, lotId),
    children: await childrenOf(db, look, lotId, toAt),
    oak: await oakOf(db, look, f, toAt),
    readings: readings.told(f),
    additions: additions
      .filter((a) => a.reversesId === null)
      .map((a) => additionToWire(look, a))
      .reverse(),
    movements: await movementsToWire(db, look, shown),
    movementsLeftOff: rows.length > shown.length ? rows.length - shown.length : 0,
  }
}

function parentsOf(look: Look, f: Followed, lotId: string): LotLedgerWire['parents'] {
  const byLot = new Map<string, { ml: number; atMs: number }>()
  for (const flow of f.back.flows) {
    if (flow.to !== lotNode(lotId) || !flow.from.startsWith('lot:') || flow.volumeMl <= 0) continue
    const id = flow.from.slice(4)
    const known = byLot.get(id)
    byLot.set(id, { ml: (known?.ml ?? 0) + flow.volumeMl, atMs: Math.min(known?.atMs ?? Infinity, flow.inflow.atMs) })
  }
  return [...byLot]
    .sort((a, b) => b[1].ml - a[1].ml)
    .map(([id, x]) => ({
      lot: lotRef(look, id),
      share: f.volumeMl > 0 ? x.ml / f.volumeMl : 0,
      volumeL: roundL(x.ml),
      at: Temporal.Instant.fromEpochMilliseconds(x.atMs).toString(),
    }))
}

/** Lots that took wine of this one: litres that went, and their share of all that left it so. */
async function childrenOf(
  db: Db,
  look: Look,
  lotId: string,
  toAt: Temporal.Instant,
): Promise<LotLedgerWire['children']> {
  const went = await listChildren(db, look.cellarId, lotId, toAt)
  await readNames(db, look, { lots: went.map((w) => w.lotId) })
  const total = went.reduce((ml, w) => ml + w.volumeMl, 0)
  return went.map((w) => ({
    lot: lotRef(look, w.lotId),
    share: w.volumeMl / total,
    volumeL: inL(w.volumeMl),
    at: w.firstAt.toString(),
  }))
}

const isWood = (look: Look, id: string): boolean => {
  const kind = look.vessels.get(id)?.kind
  return kind !== undefined && WOOD.has(kind)
}

/** Wood the wine has lain in, as this lot or as one it came from. */
async function oakOf(db: Db, look: Look, f: Followed, toAt: Temporal.Instant): Promise<LotLedgerWire['oak']> {
  const wood = new Map<string, Set<string>>()
  await readNames(db, look, {
    vessels: [
      ...[...f.back.vesselsOf.values()].flatMap((ids) => [...ids]),
      ...f.closure.inflows.map((i) => i.toVesselId),
    ],
  })
  for (const [node, vessels] of f.back.vesselsOf)
    for (const id of vessels) if (isWood(look, id)) wood.set(id, (wood.get(id) ?? new Set()).add(node.slice(4)))
  for (const i of f.closure.inflows)
    for (const [id, lotId] of [[i.toVesselId, i.toLotId]] as const)
      if (isWood(look, id) && f.back.throughMl.has(lotNode(lotId))) wood.set(id, (wood.get(id) ?? new Set()).add(lotId))
  const pages = await listLevels(db, look.cellarId, { vesselIds: [...wood.keys()], toAt, turns: true })
  await readNames(db, look, { lots: lotsOn(pages) })
  return [...wood].flatMap(([id, lots]) =>
    holdings(
      look,
      id,
      pages.filter((l) => l.vesselId === id),
    )
      .filter((h) => lots.has(h.lot.id))
      .map((h) => {
        const fills = look.vessels.get(id)?.fills ?? undefined
        return {
          vessel: h.vessel,
          ...(fills === undefined ? {} : { fills }),
          fromAt: h.fromAt,
          ...(h.toAt === undefined ? {} : { toAt: h.toAt }),
          mostL: h.mostL,
          viaLot: h.lot,
        }
      }),
  )
}
