import { listTaskFacts } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import type { Act, Ground, Told } from '../acts.ts'
import { problem } from '../problem.ts'
import { so2Lock } from '../so2-lock.ts'
import type { Scene } from './route.ts'

/** SO2 into wine that awaits malolactic: work that has not happened is refused; what has happened is kept, and said. */
export async function so2LockOf(
  c: Scene,
  name: Act,
  task: StoredTask,
  ground: Ground,
  entry: Told,
): Promise<string | undefined> {
  if (!ground.lot || (name !== 'start' && name !== 'done' && name !== 'note')) return undefined
  const added = entry.additions.map((a) => a.product)
  const words = so2Lock({
    lot: ground.lot,
    task: { step: task.step, prev: task.rest.prev, products: task.rest.doses.map((d) => d.product) },
    added,
    readings: [...(ground.earlier ?? []), ...entry.readings],
    facts: await listTaskFacts(c.var.db, c.var.who.cellarId),
  })
  if (words && name !== 'note') {
    throw problem(409, 'malolactic-awaited', 'Malolactic is awaited: no SO2 yet', { detail: words })
  }
  return added.length > 0 ? words : undefined
}
