import { bareDraft } from './bare.ts'
import { survey } from './ground.ts'
import { modelOf } from './model.ts'
import { openSession } from './session.ts'
import { planOf } from './tell.ts'
import type { Plan, Problem, Scheduler } from './types.ts'

/**
 * Places every task and says what could not be met. Same problem, same plan. Where people know a plan already, it is
 * taken over and only what no longer holds is placed anew.
 */
export const schedule: Scheduler = (problem, watch) => barePlan(problem) ?? openSession(problem, watch).plan()

/** A problem of lags and shared units only is searched in its core. */
function barePlan(problem: Problem): Plan | undefined {
  if (problem.holds.length > 0 || problem.people.length > 0 || problem.previous !== undefined) return undefined
  const surveyed = survey(modelOf(problem))
  const found = surveyed.cycles.length === 0 ? bareDraft(surveyed.ground.model) : undefined
  return found && planOf(surveyed, found.draft, found.schedulesUsed)
}
