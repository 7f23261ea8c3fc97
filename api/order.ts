/** A plan that is asked for, as plain records that can go to another thread, and what comes back. */
import { type Kept, type Known, planCellar } from './plan.ts'
import { type AnnouncedMove, guardedPlan, type KnownTask } from './protocol/announced.ts'
import type { Facts } from './protocol/facts.ts'
import type { Because } from './protocol/moved.ts'
import type { CellarPlan } from './protocol/types.ts'
import type { Watch } from './schedule/types.ts'
import type { Temporal } from './time.ts'
import { withoutUndone } from './undone.ts'

export interface Order {
  readonly facts: Facts
  readonly nowAt: Temporal.Instant
  /** The plan people know. Absent: a first one is made. */
  readonly previous?: readonly Known[]
  /** What people have been told does not move without a word, where this asks for one. */
  readonly guard?: { readonly known: readonly KnownTask[]; readonly because: Because }
}

export interface Ordered {
  /** The plan as it would like to be. */
  readonly free: CellarPlan
  /** The plan that may stand at once, and what it would move beside. */
  readonly plan: CellarPlan
  readonly moves: readonly AnnouncedMove[]
}

/** @param kept what the plan of this cellar before left ready; it makes no difference to the plan */
export function planned({ facts, nowAt, previous, guard }: Order, kept: Kept, watch?: Watch): Ordered {
  const planOf = (of: Facts) =>
    planCellar(withoutUndone(of), { nowAt, kept, ...(previous ? { previous } : {}), ...(watch ? { watch } : {}) })
  const free = planOf(facts)
  if (!guard?.because.asks) return { free, plan: free, moves: [] }
  const { known, because } = guard
  const { agreed } = because
  return { free, ...guardedPlan({ facts, known, free, nowAt, because, ...(agreed ? { agreed } : {}) }, planOf) }
}
