/** Where a lot is, what it came from and what came of it. */
import { listAllAdditions } from '../../db/queries/dosed.ts'
import { listChildren } from '../../db/queries/ledger-sums.ts'
import { levelsAt, listHeld } from '../../db/queries/levels.ts'
import { listMovements } from '../../db/queries/movements.ts'
import type { Db } from '../../db/types.ts'
import { lotNode } from '../cellar/ledger/flow.ts'
import type { LotLedgerWire } from '../ledger-wire.ts'
import { isoOf, type Temporal } from '../time.ts'
import {
  type Followed,
  followAt,
  holdingToWire,
  lotsBehind,
  MOST_MOVEMENTS,
  madeOf,
  quarantineToWire,
  readingsToWire,
  readingsUntil,
  receiptsFor,
} from './answers.ts'
import { type Look, lotRef, readNames } from './look.ts'
import { additionToWire, contentToWire, inL, movementsToWire, roundL } from './shapes.ts'
import { WOOD } from './states.ts'

export async function lotLedger(db: Db, look: Look, lotId: string, at: Temporal.Instant): Promise<LotLedgerWire> {
  const { cellarId } = look
  const levels = [...(await levelsAt(db, cellarId, at)).values()].filter((l) => l.afterMl > 0 && l.afterLotId === lotId)
  const f = await followAt(db, cellarId, levels, at)
  const toAt = at.add({ milliseconds: 1 })
  const rows = await listMovements(db, cellarId, { lotId, toAt, newestFirst: true, limit: MOST_MOVEMENTS + 1 })
  const shown = rows.slice(0, MOST_MOVEMENTS)
  const behind = [...new Set([lotId, ...lotsBehind(f)])]
  const readings = await readingsUntil(db, look, behind, at)
  const additions = await listAllAdditions(db, cellarId, { lotIds: behind, toAt })
  await readNames(db, look, {
    vessels: [
      ...levels.map((l) => l.vesselId),
      ...additions.map((a) => a.vesselId),
      ...readings.map((r) => r.vesselId),
    ],
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
      readings.filter((r) => r.lotId === lotId),
    )),
    quarantine: quarantineToWire(look, look.quarantined.get(lotId)),
    parents: parentsOf(look, f, lotId),
    children: await childrenOf(db, look, lotId, toAt),
    oak: await oakOf(db, look, f, at),
    readings: readingsToWire(look, readings, f),
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
      at: isoOf(x.atMs),
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
async function oakOf(db: Db, look: Look, f: Followed, at: Temporal.Instant): Promise<LotLedgerWire['oak']> {
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
  const held = await listHeld(db, look.cellarId, [...wood.keys()], at)
  const own = held.filter((h) => wood.get(h.vesselId)?.has(h.lotId))
  await readNames(db, look, { lots: own.map((h) => h.lotId) })
  return own.map((h) => {
    const { lot: viaLot, ...told } = holdingToWire(look, h.vesselId, h)
    const fills = look.vessels.get(h.vesselId)?.fills ?? undefined
    return { ...told, ...(fills === undefined ? {} : { fills }), viaLot }
  })
}
