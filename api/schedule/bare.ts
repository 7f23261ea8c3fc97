import type { Draft } from './build.ts'
import type { Slot } from './desk.ts'
import { evolve } from './evolve.ts'
import { levelsOf } from './levels.ts'
import type { Model } from './model.ts'

/** Above this the search over the bare core would need too much memory: its longest ways are a square table. */
const MOST_BARE_TASKS = 600

/** A problem of lags and shared units only is searched in its core. Undefined when it has more, or no plan was found. */
export function bareDraft(model: Model): { readonly draft: Draft; readonly schedulesUsed: number } | undefined {
  if (model.tasks.length > MOST_BARE_TASKS) return undefined
  const levels = levelsOf(model)
  const found = levels && evolve(levels, model.problem.seed, model.problem.moves)
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
