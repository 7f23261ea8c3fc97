import type { Crew } from './crew.ts'
import type { Model } from './model.ts'
import type { Use } from './types.ts'

/** Units that would do for a use: those fixed for it, else those asked for, the known one first. */
export function choiceOf(
  model: Model,
  i: number,
  use: Use,
): { readonly options: readonly number[]; readonly largest: number } {
  const task = model.tasks[i]!
  const pool = model.poolUnits.get(use.pool) ?? []
  const fixed = task.done?.units ?? task.started?.units ?? task.pin?.units ?? []
  const kept = fixed.flatMap((id) => model.unitOf.get(id) ?? []).filter((u) => pool.includes(u))
  const wanted = use.units ? use.units.flatMap((id) => model.unitOf.get(id) ?? []) : pool
  const before = model.previous.get(task.key)?.units ?? []
  const isKnown = (u: number) => before.includes(model.units[u]!.unit.id)
  const options = kept.length > 0 ? kept : [...wanted.filter(isKnown), ...wanted.filter((u) => !isKnown(u))]
  return { options, largest: Math.max(0, ...options.map((u) => model.units[u]!.unit.capacity)) }
}

/** A pause in the work stops the task's own clock too. */
export function pausedEnd(startMin: number, elapsedMin: number, crew: Crew): number {
  let left = elapsedMin
  for (const [from, to] of crew.pieces) {
    if (left <= to - from) return from + Math.max(0, left)
    left -= to - from
  }
  return (crew.pieces.at(-1)?.[1] ?? startMin) + left
}

/** How much of each unit a hold keeps: whole units, or its amount like a use. */
export const keptOf = (model: Model, h: number, chosen: readonly number[]): readonly (readonly [number, number])[] => {
  const { amount } = model.holds[h]!.hold
  return amount === undefined
    ? chosen.map((u) => [u, model.units[u]!.unit.capacity] as const)
    : sharesOf(model, chosen, amount)
}

/** How much of each unit a use takes: all of one, or unit by unit until the amount is had. */
export function sharesOf(model: Model, chosen: readonly number[], amount: number): readonly [number, number][] {
  let left = amount
  return chosen.map((u, k) => {
    const share = k === chosen.length - 1 ? left : Math.min(left, model.units[u]!.unit.capacity)
    left -= share
    return [u, share]
  })
}
