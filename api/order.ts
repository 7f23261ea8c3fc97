/** A plan that is asked for, as plain records that can go to another thread, and what comes back. */
import { type Kept, type Known, layCellar, type PlanOptions } from './plan.ts'
import { type AnnouncedMove, guardedPlan, type KnownTask } from './protocol/announced.ts'
import type { Facts } from './protocol/facts.ts'
import type { Because } from './protocol/moved.ts'
import { told } from './protocol/told.ts'
import type { CellarPlan } from './protocol/types.ts'
import type { Placed } from './schedule/types.ts'
import type { Temporal } from './time.ts'
import { withoutUndone } from './undone.ts'

export interface Order {
  readonly facts: Facts
  readonly nowAt: Temporal.Instant
  /** The plan people know. Absent: a first one is made. */
  readonly previous?: readonly Known[]
  /** What people have been told does not move without a word, where this asks for one. */
  readonly guard?: { readonly known: readonly KnownTask[]; readonly because: Because }
  /** What holds each task is told as well. */
  readonly causes?: true
}

export interface Ordered {
  /** The plan as it would like to be. */
  readonly free: CellarPlan
  /** The plan that may stand at once, and what it would move beside. */
  readonly plan: CellarPlan
  readonly moves: readonly AnnouncedMove[]
  /** Of the tasks of the free plan, where they were asked for. */
  readonly causes?: readonly Pick<Placed, 'key' | 'notEarlier' | 'notLater'>[]
}

/** @param kept what the plan of this cellar before left ready; it makes no difference to the plan */
export function planned(
  { facts, nowAt, previous, guard, causes }: Order,
  kept: Kept,
  hears: Pick<PlanOptions, 'watch' | 'goOn'> = {},
): Ordered {
  const planOf = (of: Facts) => {
    const standing = withoutUndone(of)
    const laid = layCellar(standing, { nowAt, kept, ...(previous ? { previous } : {}), ...hears })
    return { placed: laid.plan.placed, plan: told(laid, standing, nowAt) }
  }
  const { placed, plan: free } = planOf(facts)
  const held = causes
    ? { causes: placed.map(({ key, notEarlier, notLater }) => ({ key, notEarlier, notLater })) }
    : undefined
  if (!guard?.because.asks) return { free, plan: free, moves: [], ...held }
  const { known, because } = guard
  const { agreed } = because
  const given = { facts, known, free, nowAt, because, ...(agreed ? { agreed } : {}) }
  return { free, ...guardedPlan(given, (of) => planOf(of).plan), ...held }
}
