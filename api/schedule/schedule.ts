import { bareDraft, bareLevels } from './bare.ts'
import { survey } from './ground.ts'
import { modelOf } from './model.ts'
import { openSession, type Session } from './session.ts'
import { planOf } from './tell.ts'
import type { Plan, Problem, Scheduler, Watch } from './types.ts'

/**
 * Places every task and says what could not be met. Same problem, same plan. Where people know a plan already, it is
 * taken over and only what no longer holds is placed anew.
 */
export const schedule: Scheduler = (problem, watch) => {
  const core = coreOf(problem)
  if (!core) return opened(problem, watch).plan()
  const found = bareDraft(core.surveyed.ground.model, core.levels)
  // The core's search gave up: searching as long again takes minutes and seldom finds. One plan says what it breaks.
  if (!found) return openSession({ ...problem, moves: Math.min(1, problem.moves) }, watch).plan()
  return planOf(core.surveyed, found.draft, found.schedulesUsed)
}

/** The session that made the plan before this one, ready to go on. */
export interface Kept {
  session?: Session
  /** Tasks in it. */
  tasks?: number
}

/**
 * The same plan as `schedule(problem)`, sooner where the one before it was made from nearly the same problem.
 *
 * @param bare leaves the causes out
 */
export function scheduleNext(kept: Kept, problem: Problem, watch?: Watch, bare = false): Plan {
  const { session } = kept
  // Should it fail half way, nothing goes on from there.
  kept.session = undefined
  const next = session?.follow(problem) ? session : opened(problem, watch)
  const plan = next.plan(bare)
  kept.session = next
  kept.tasks = problem.tasks.length
  return plan
}

/**
 * A session for the problem. What improving found is mended afterwards, and from another start mending may get further:
 * where hard rules stay broken, the plan that was not improved is mended, too, and the better of both is taken, so that
 * more moves never break more.
 */
function opened(problem: Problem, watch?: Watch): Session {
  const session = openSession(problem, watch)
  const hard = hardOf(session)
  if (hard === 0 || problem.moves < 2 || (problem.previous ?? []).length > 0) return session
  const plain = openSession(problem, undefined, 1)
  return hardOf(plain) < hard ? plain : session
}

const hardOf = (session: Session): number => session.broken().filter((b) => b.strength === 'hard').length

/** A problem of lags and shared units only is searched in its core. */
function coreOf(problem: Problem) {
  if (problem.tasks.some((t) => t.byDay)) return undefined
  if (problem.holds.length > 0 || problem.people.length > 0 || problem.previous !== undefined) return undefined
  const surveyed = survey(modelOf(problem))
  const levels = surveyed.cycles.length === 0 ? bareLevels(surveyed.ground.model) : undefined
  return levels && { surveyed, levels }
}
