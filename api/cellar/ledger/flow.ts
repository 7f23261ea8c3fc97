import type { Outside } from './movement.ts'

/** One movement into a vessel, as its page shows it. Millilitres. */
export interface Inflow {
  readonly movementId: string
  readonly atMs: number
  readonly entry: number
  readonly volumeMl: number
  readonly toVesselId: string
  /** The vessel before and after it. */
  readonly toBeforeMl: number
  readonly toAfterMl: number
  readonly toBeforeLotId?: string
  readonly toLotId: string
  readonly fromVesselId?: string
  readonly fromLotId?: string
  readonly fromOutside?: Outside
  readonly receiptId?: string
  readonly cause: string
}

/** A product put into a vessel that held so much. */
export interface Dosed {
  readonly product: string
  readonly amount: number
  readonly vesselId: string
  readonly atMs: number
  readonly entry: number
  readonly levelMl: number
}

/** Wine asked about: so many millilitres of what is in a vessel, after all inflows given. */
export interface Asked {
  readonly vesselId: string
  readonly lotId: string
  readonly volumeMl: number
}

/** How much of the wine asked about went along one way between two lots, or came in. */
export interface Flow {
  readonly inflow: Inflow
  /** `lot:L01`, `receipt:R1` or `outside:gain`. */
  readonly from: string
  readonly to: string
  readonly volumeMl: number
}

export interface FlowBack {
  /** Millilitres of the wine asked about by receipt; they add up to it. */
  readonly sourcesMl: ReadonlyMap<string, number>
  /** Amount of each product that is in it. */
  readonly added: ReadonlyMap<string, number>
  /** Ways between two lots and into the first, latest first. */
  readonly flows: readonly Flow[]
  /** Millilitres by lot that passed as this lot, the lots asked about among them. */
  readonly throughMl: ReadonlyMap<string, number>
  /** The same by lot and vessel: `lot:L01@T01`. */
  readonly vesselsOf: ReadonlyMap<string, ReadonlySet<string>>
}

interface Traced {
  /** Of the wine asked about, as it will be measured in the end. */
  ml: number
  /** The same, as it was measured then: a gauged gain makes more of it. */
  thenMl: number
}

export const lotNode = (lotId: string) => `lot:${lotId}`
export const receiptNode = (receiptId: string) => `receipt:${receiptId}`

/**
 * Follows wine back through every movement that brought some of it, with exact litres. Wine in a vessel is mixed: of
 * what is in it after an inflow, the share inflow / level came with that inflow, whatever left since.
 *
 * Source: mass balance of well-mixed vessels (definition), solved from the end to the start.
 *
 * @param inflows those of the vessels it passed, none missing, up to the moment asked about
 * @param asked   at most one entry a vessel
 */
export function flowBack(inflows: readonly Inflow[], dosed: readonly Dosed[], asked: readonly Asked[]): FlowBack {
  const held = new Map<string, Traced>(asked.map((a) => [a.vesselId, { ml: a.volumeMl, thenMl: a.volumeMl }]))
  const sourcesMl = new Map<string, number>()
  const added = new Map<string, number>()
  const throughMl = new Map<string, number>()
  const vesselsOf = new Map<string, Set<string>>()
  const flows: Flow[] = []
  for (const a of asked) {
    more(throughMl, lotNode(a.lotId), a.volumeMl)
    seen(vesselsOf, lotNode(a.lotId), a.vesselId)
  }
  for (const e of latestFirst(inflows, dosed)) {
    if ('product' in e) {
      const there = held.get(e.vesselId)
      if (there && e.levelMl > 0) more(added, e.product, (e.amount * there.thenMl) / e.levelMl)
      continue
    }
    const there = held.get(e.toVesselId)
    if (!there || !(there.ml > 0)) continue
    step(e, there)
  }
  return { sourcesMl, added, flows, throughMl, vesselsOf }

  function step(e: Inflow, there: Traced): void {
    const to = lotNode(e.toLotId)
    // Its own wine under a new name: all of it went that way.
    if (e.fromVesselId === e.toVesselId) {
      passed(e, lotNode(e.fromLotId ?? e.toLotId), to, there.ml)
      return
    }
    if (e.fromOutside === 'gain' && e.toBeforeMl > 0) {
      there.thenMl *= e.toBeforeMl / e.toAfterMl
      // Written down under another lot's name, it makes all of the vessel that lot.
      if (e.toBeforeLotId !== undefined && e.toBeforeLotId !== e.toLotId) {
        passed(e, lotNode(e.toBeforeLotId), to, there.ml)
      }
      return
    }
    const share = e.volumeMl / e.toAfterMl
    const part: Traced = { ml: there.ml * share, thenMl: there.thenMl * share }
    const isAll = e.toBeforeMl === 0
    const rest: Traced = isAll ? { ml: 0, thenMl: 0 } : { ml: there.ml - part.ml, thenMl: there.thenMl - part.thenMl }
    if (isAll) {
      part.ml = there.ml
      part.thenMl = there.thenMl
      held.delete(e.toVesselId)
    } else held.set(e.toVesselId, rest)
    // What lay there before became part of the arriving lot as well.
    if (!isAll && e.toBeforeLotId !== undefined && e.toBeforeLotId !== e.toLotId) {
      passed(e, lotNode(e.toBeforeLotId), to, rest.ml)
    }
    if (e.fromVesselId !== undefined) {
      const before = held.get(e.fromVesselId)
      held.set(e.fromVesselId, { ml: (before?.ml ?? 0) + part.ml, thenMl: (before?.thenMl ?? 0) + part.thenMl })
      seen(vesselsOf, lotNode(e.fromLotId ?? e.toLotId), e.fromVesselId)
      if (e.fromLotId !== undefined && e.fromLotId !== e.toLotId) passed(e, lotNode(e.fromLotId), to, part.ml)
      return
    }
    const source = e.receiptId ?? 'unknown'
    more(sourcesMl, source, part.ml)
    flows.push({ inflow: e, from: receiptNode(source), to, volumeMl: part.ml })
  }

  function passed(e: Inflow, from: string, to: string, volumeMl: number): void {
    flows.push({ inflow: e, from, to, volumeMl })
    more(throughMl, from, volumeMl)
    seen(vesselsOf, from, e.fromVesselId ?? e.toVesselId)
  }
}

const more = (sums: Map<string, number>, key: string, by: number) => void sums.set(key, (sums.get(key) ?? 0) + by)

function seen(sets: Map<string, Set<string>>, key: string, value: string): void {
  const set = sets.get(key)
  if (set) set.add(value)
  else sets.set(key, new Set([value]))
}

const latestFirst = (inflows: readonly Inflow[], dosed: readonly Dosed[]): readonly (Inflow | Dosed)[] =>
  [...inflows, ...dosed].sort((a, b) => b.atMs - a.atMs || b.entry - a.entry)
