import { lotNode } from './flow.ts'
import type { Outside } from './movement.ts'

/** Wine that left a vessel; or, with no litres, became another lot where it lay. Millilitres. */
export interface Outflow {
  readonly movementId: string
  readonly atMs: number
  readonly entry: number
  readonly cause: string
  readonly vesselId: string
  readonly beforeMl: number
  readonly beforeLotId: string
  readonly volumeMl: number
  readonly toVesselId?: string
  readonly toLotId?: string
  readonly toOutside?: Outside
}

export interface ForwardFlow {
  readonly outflow: Outflow
  readonly from: string
  readonly to: string
  readonly volumeMl: number
}

export interface FlowForward {
  readonly flows: readonly ForwardFlow[]
  /** Millilitres of the wine asked about by node it went through. */
  readonly throughMl: ReadonlyMap<string, number>
  readonly vesselsOf: ReadonlyMap<string, ReadonlySet<string>>
  /** Millilitres of it that each vessel holds in the end; a lot's own vessels are not among them. */
  readonly heldMl: ReadonlyMap<string, number>
}

/** What is followed: a lot wherever it lies under its name, or what one vessel held at a moment. */
export type Marked =
  | { readonly lotId: string; readonly vesselId?: undefined }
  | { readonly vesselId: string; readonly lotId: string; readonly volumeMl: number }

/**
 * Follows wine forward: a draw takes of the wine followed as much as its share of the vessel.
 *
 * Source: mass balance of well-mixed vessels (definition).
 *
 * @param outflows of every vessel it reached, none missing since it came there
 */
export function flowForward(outflows: readonly Outflow[], marked: Marked): FlowForward {
  const held = new Map<string, number>()
  const flows: ForwardFlow[] = []
  const throughMl = new Map<string, number>()
  const vesselsOf = new Map<string, Set<string>>()
  const named = marked.vesselId === undefined ? marked.lotId : undefined
  if (marked.vesselId !== undefined) held.set(marked.vesselId, marked.volumeMl)
  const pass = (outflow: Outflow, to: string, volumeMl: number) => {
    flows.push({ outflow, from: lotNode(outflow.beforeLotId), to, volumeMl })
    throughMl.set(to, (throughMl.get(to) ?? 0) + volumeMl)
  }
  const seen = (lotId: string, vesselId: string) => {
    const node = lotNode(lotId)
    vesselsOf.set(node, (vesselsOf.get(node) ?? new Set()).add(vesselId))
  }
  for (const o of [...outflows].sort((a, b) => a.atMs - b.atMs || a.entry - b.entry)) {
    const there = o.beforeLotId === named ? o.beforeMl : (held.get(o.vesselId) ?? 0)
    if (!(there > 0) || !(o.beforeMl > 0)) continue
    seen(o.beforeLotId, o.vesselId)
    if (o.volumeMl === 0) {
      if (o.toLotId !== undefined && o.toLotId !== o.beforeLotId) pass(o, lotNode(o.toLotId), there)
      if (o.toLotId !== named) held.set(o.vesselId, there)
      continue
    }
    const part = (there * o.volumeMl) / o.beforeMl
    held.set(o.vesselId, Math.max(0, there - part))
    if (o.toVesselId !== undefined && o.toLotId !== undefined) {
      held.set(o.toVesselId, (held.get(o.toVesselId) ?? 0) + part)
      seen(o.toLotId, o.toVesselId)
      if (o.toLotId !== o.beforeLotId) pass(o, lotNode(o.toLotId), part)
    } else if (o.toOutside !== undefined) pass(o, `outside:${o.toOutside}`, part)
  }
  return { flows, throughMl, vesselsOf, heldMl: held }
}
