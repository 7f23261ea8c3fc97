import type { Hold } from '../../schedule/types.ts'
import type { MachineKind } from '../facts.ts'
import type { Setting } from '../setting.ts'
import { keyOf } from '../work.ts'

/** Fruit of one day, from the pad to the press or the destemmer. */
interface Lying {
  /** Number of the day, from 1. */
  readonly count: number
  readonly tonnes: number
  readonly cooled: boolean
  /** The first load that comes, and the work that takes the last of it away. */
  readonly receive: string
  readonly last: string
}

/**
 * Tonnes in the cold room and in bins: kept until the last of the day's fruit is tipped, not while it is cooled alone.
 * Machine fruit comes in the truck's own tank and takes no bins. What a cellar does not own it does without.
 */
export function storesOf(s: Setting, d: Lying): readonly Hold[] {
  const kept = (name: 'room' | 'bins', kind: MachineKind, from: string): Hold[] => {
    const candidates = s.machines.filter((m) => m.kind === kind).map((m) => m.id)
    if (candidates.length === 0 || s.ticks.get(from)?.skipped) return []
    return [
      {
        key: `${s.lot.code}/${name}-${d.count}`,
        group: s.lot.code,
        from: { task: from, edge: 'start' },
        to: { task: d.last, edge: 'end' },
        candidates,
        count: 1,
        amount: d.tonnes,
        cleanMin: 0,
      },
    ]
  }
  return [
    ...(d.cooled ? kept('room', 'cold-room', keyOf(s, 'cool-fruit', d.count)) : []),
    ...(s.choices.pickMode === 'hand' ? kept('bins', 'bins', d.receive) : []),
  ]
}

/** Holds of presses, cold rooms and bins: no wine lies in them. */
export const isOfMachine = (hold: string): boolean => /\/(press|room|bins)-\d+$/.test(hold)
