import type { Dosed, Inflow } from './flow.ts'

/** A litre of wine in a vessel: shares by receipt that add up to 1, and what was put in, a millilitre. */
export interface Mixed {
  readonly shares: ReadonlyMap<string, number>
  readonly addedPerMl: ReadonlyMap<string, number>
}

const NOTHING: Mixed = { shares: new Map(), addedPerMl: new Map() }

/**
 * What every vessel is made of in the end, all at once: one pass forward over what following each back would read once
 * a vessel.
 *
 * Source: mass balance of well-mixed vessels (definition). After an inflow a vessel holds what it held and what came,
 * by litres; draws change no share.
 *
 * @param inflows those of the vessels asked about and of every vessel their wine came from, none missing
 */
export function mixForward(inflows: readonly Inflow[], dosed: readonly Dosed[]): ReadonlyMap<string, Mixed> {
  const held = new Map<string, Mixed>()
  for (const e of inOrder<Inflow | Dosed>([...dosed, ...inflows])) {
    if ('product' in e) {
      const there = held.get(e.vesselId)
      if (there && e.levelMl > 0) held.set(e.vesselId, put(there, e.product, e.amount / e.levelMl))
      continue
    }
    const there = held.get(e.toVesselId) ?? NOTHING
    if (e.fromVesselId === e.toVesselId) continue
    const wasShare = e.toBeforeMl / e.toAfterMl
    if (e.fromOutside === 'gain' && e.toBeforeMl > 0) {
      held.set(e.toVesselId, { shares: there.shares, addedPerMl: scaled(there.addedPerMl, wasShare) })
      continue
    }
    const comes: Mixed =
      e.fromVesselId === undefined
        ? { shares: new Map([[e.receiptId ?? 'unknown', 1]]), addedPerMl: new Map() }
        : (held.get(e.fromVesselId) ?? NOTHING)
    held.set(e.toVesselId, e.toBeforeMl === 0 ? comes : blended(there, wasShare, comes, e.volumeMl / e.toAfterMl))
  }
  return held
}

/** Of the wine in every vessel, the share that once was this lot, 0 to 1. Arguments as `mixForward`. */
export function shareThrough(inflows: readonly Inflow[], lotId: string): ReadonlyMap<string, number> {
  const held = new Map<string, number>()
  for (const e of inOrder(inflows)) {
    const was = e.toBeforeLotId === lotId ? 1 : (held.get(e.toVesselId) ?? 0)
    if (e.fromVesselId === e.toVesselId || (e.fromOutside === 'gain' && e.toBeforeMl > 0)) {
      held.set(e.toVesselId, e.toLotId === lotId ? 1 : was)
      continue
    }
    const from = e.fromVesselId === undefined ? 0 : (held.get(e.fromVesselId) ?? 0)
    const comes = e.fromLotId === lotId ? 1 : from
    const mixed = (was * e.toBeforeMl + comes * e.volumeMl) / e.toAfterMl
    held.set(e.toVesselId, e.toLotId === lotId ? 1 : mixed)
  }
  return held
}

const inOrder = <T extends { readonly atMs: number; readonly entry: number }>(entries: readonly T[]): readonly T[] =>
  [...entries].sort((a, b) => a.atMs - b.atMs || a.entry - b.entry)

const scaled = (amounts: ReadonlyMap<string, number>, by: number) => new Map([...amounts].map(([k, v]) => [k, v * by]))

function summed(a: ReadonlyMap<string, number>, aBy: number, b: ReadonlyMap<string, number>, bBy: number) {
  const out = scaled(a, aBy)
  for (const [k, v] of b) out.set(k, (out.get(k) ?? 0) + v * bBy)
  return out
}

const blended = (a: Mixed, aBy: number, b: Mixed, bBy: number): Mixed => ({
  shares: summed(a.shares, aBy, b.shares, bBy),
  addedPerMl: summed(a.addedPerMl, aBy, b.addedPerMl, bBy),
})

const put = (m: Mixed, product: string, perMl: number): Mixed => ({
  shares: m.shares,
  addedPerMl: summed(m.addedPerMl, 1, new Map([[product, perMl]]), 1),
})
