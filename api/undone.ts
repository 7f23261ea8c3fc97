import type { Facts, TaskFact } from './protocol/facts.ts'
import { withInherited } from './protocol/inherited.ts'

/**
 * What was put in and moved with a tick that was taken back never happened, as far as the plan goes. The rows stay.
 * They are known by the task and the moment they were told with. Lots made of others go on where those were.
 */
export function withoutUndone(facts: Facts): Facts {
  return withInherited(standing(facts))
}

function standing(facts: Facts): Facts {
  const undoneIds = new Set(facts.taskFacts.flatMap((f) => (f.kind === 'undo' && f.undoesId ? [f.undoesId] : [])))
  const sign = (taskKey: string, at: { toString(): string }) => `${taskKey} ${at}`
  const ticks = (keep: (f: TaskFact) => boolean) =>
    new Set(facts.taskFacts.filter((f) => f.kind === 'done' && keep(f)).map((f) => sign(f.taskKey, f.at)))
  const undone = ticks((f) => undoneIds.has(f.id))
  // Ticked again with the same moment: it stands.
  for (const again of ticks((f) => !undoneIds.has(f.id))) undone.delete(again)
  if (undone.size === 0) return facts
  const stands = (taskKey: string | undefined, at: { toString(): string }) =>
    taskKey === undefined || !undone.has(sign(taskKey, at))
  return {
    ...facts,
    additions: facts.additions.filter((a) => stands(a.taskKey, a.addedAt)),
    transfers: facts.transfers.filter((t) => stands(t.taskKey, t.movedAt)),
  }
}
