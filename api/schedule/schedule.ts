import { bareDraft } from './bare.ts'
import { survey } from './ground.ts'
import { improve } from './improve.ts'
import { modelOf } from './model.ts'
import { openSession } from './session.ts'
import { planOf } from './tell.ts'
import type { Scheduler } from './types.ts'

/**
 * Places every task and says what could not be met. Same problem, same plan. Where people know a plan already, it is
 * taken over and only what no longer holds is placed anew.
 */
export const schedule: Scheduler = (problem) => {
  if (problem.previous && problem.previous.length > 0 && problem.moves <= 1) return openSession(problem).plan()
  const model = modelOf(problem)
  const surveyed = survey(model)
  const { draft, schedulesUsed } =
    (surveyed.cycles.length === 0 ? bareDraft(model) : undefined) ??
    improve(surveyed.ground, problem.seed, problem.moves)
  return planOf(surveyed, draft, schedulesUsed)
}
