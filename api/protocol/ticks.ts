import type { Temporal } from '../time.ts'
import type { TaskFact } from './facts.ts'

/** What people have said about one task, the newest of each kind, with what was undone taken away. */
export interface Tick {
  readonly done?: TaskFact
  readonly started?: TaskFact
  readonly skipped?: TaskFact
  readonly pin?: TaskFact
  readonly assigned?: TaskFact
}

/** The log by task key. `undo` takes back the fact it names, or the newest one of its task. */
export function ticksOf(facts: readonly TaskFact[]): ReadonlyMap<string, Tick> {
  const byTask = new Map<string, TaskFact[]>()
  for (const fact of [...facts].sort(byMoment)) {
    const log = byTask.get(fact.taskKey) ?? []
    byTask.set(fact.taskKey, fact.kind === 'undo' ? without(log, fact) : [...log, fact])
  }
  return new Map([...byTask].map(([key, log]) => [key, tickOf(log)]))
}

function tickOf(log: readonly TaskFact[]): Tick {
  const last = (kind: TaskFact['kind']) => log.findLast((fact) => fact.kind === kind)
  const pin = last('pin')
  const unpin = last('unpin')
  return {
    done: last('done'),
    started: last('start'),
    skipped: last('skip'),
    pin: pin && (!unpin || log.indexOf(unpin) < log.indexOf(pin)) ? pin : undefined,
    assigned: last('assign'),
  }
}

function without(log: readonly TaskFact[], undo: TaskFact): TaskFact[] {
  const at = undo.undoesId ? log.findIndex((fact) => fact.id === undo.undoesId) : log.length - 1
  return log.filter((_, i) => i !== at)
}

const byMoment = (a: TaskFact, b: TaskFact): number => compare(a.at, b.at) || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0)

const compare = (a: Temporal.Instant, b: Temporal.Instant): number => a.epochMilliseconds - b.epochMilliseconds
