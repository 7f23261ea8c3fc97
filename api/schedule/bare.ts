import type { Draft } from './build.ts'
import type { Slot } from './desk.ts'
import { evolve } from './evolve.ts'
import { type Levels, levelsOf } from './levels.ts'
import type { Model } from './model.ts'

/** Above this the search over the bare core would need too much memory: its longest ways are a square table. */
const MOST_BARE_TASKS = 600

/** The core of a problem of lags and shared units only, of a size that can be searched; undefined otherwise. */
export const bareLevels = (model: Model): Levels | undefined =>
  model.tasks.length > MOST_BARE_TASKS ? undefined : levelsOf(model)

/** Searches the core for as many schedules as the problem has moves. Undefined when no plan was found. */
export function bareDraft(
  model: Model,
  levels: Levels,
): { readonly draft: Draft; readonly schedulesUsed: number } | undefined {
  const found = evolve(levels, model.problem.seed, model.problem.moves)
  if (!found) return undefined
  const slots = model.tasks.map((task, i): Slot => {
    const startMin = found.starts[i]!
    const units = task.uses.map((use) => [model.poolUnits.get(use.pool)![0]!])
    return {
      startMin,
      endMin: startMin + task.elapsedMin,
      crewEndMin: startMin,
      crew: { people: [], pieces: [] },
      units,
    }
  })
  return { draft: { slots, berths: [] }, schedulesUsed: found.schedulesUsed }
}
