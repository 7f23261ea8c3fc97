import type { Model } from './model.ts'
import type { BrokenRule, Placed, PlacedHold } from './types.ts'

/** A finished plan by index. `uses[i][k]` are the units that use k of task i has. */
export interface Finished {
  readonly model: Model
  readonly placed: readonly Placed[]
  readonly uses: readonly (readonly (readonly number[])[])[]
  readonly holds: readonly PlacedHold[]
}

/** A rule of the plan: one sentence, one function. The list serves the engine, the tests and the screen. */
export type Rule = (plan: Finished) => readonly BrokenRule[]

/** What has happened is not judged; only a rule that touches open work can still be mended. */
export const isFact = (plan: Finished, i: number) =>
  plan.model.tasks[i]!.done !== undefined || plan.model.tasks[i]!.started !== undefined
