import type { Ground } from './build.ts'
import { breakCycles } from './cycles.ts'
import type { Stood } from './desk.ts'
import type { Model } from './model.ts'
import { factOf, type Labels, type Network, networkOf, newLabels } from './network.ts'

/** A ground and what is told of it: circles of limits that were cut, bounds by hard limits alone. */
export interface Surveyed {
  readonly ground: Ground
  readonly cycles: readonly (readonly number[])[]
  readonly hard: Labels
  readonly hardNetwork: Network
}

/** Everything about a model that stays the same over all schedules built for it. */
export function survey(model: Model, stood?: Stood): Surveyed {
  const { off, cycles } = breakCycles(model)
  const network = networkOf(model, off)
  const base = boundsOf(model, network, false)
  const target = model.tasks.map((_, i) => targetOf(model, i))
  const hardNetwork = networkOf(model, off, true)
  const hard = boundsOf(model, hardNetwork, true)
  const want = wantedFrom(model, network, base, target)
  return { ground: { model, network, base, target, want, lawfulHi: hard.hi, off, stood }, cycles, hard, hardNetwork }
}

/** Earliest and latest starts by links and facts, from scratch. */
export function boundsOf(model: Model, network: Network, hardOnly: boolean): Labels {
  const labels = newLabels(model.tasks.length)
  const all = [...model.tasks.keys()]
  network.reset(labels, hardOnly)
  network.spreadLo(labels, all)
  network.spreadHi(labels, all)
  return labels
}

/** Where a task asks to start by itself: where people know it, or the minute it should be near. */
function targetOf(model: Model, i: number): number | undefined {
  const { key, bias } = model.tasks[i]!
  if (factOf(model, i) !== undefined) return undefined
  return model.previous.get(key)?.startMin ?? (typeof bias === 'object' ? bias.nearMin : undefined)
}

/** Carries the wishes through the links, so that what must come shortly before a wished start waits for it. */
function wantedFrom(
  model: Model,
  network: Network,
  base: Labels,
  target: readonly (number | undefined)[],
): Float64Array {
  const labels: Labels = { ...base, lo: base.lo.slice(), loBy: base.loBy.slice() }
  target.forEach((t, i) => {
    if (t !== undefined) labels.lo[i] = Math.max(labels.lo[i]!, Math.min(t, base.hi[i]!))
  })
  network.spreadLo(labels, [...model.tasks.keys()])
  return labels.lo
}
