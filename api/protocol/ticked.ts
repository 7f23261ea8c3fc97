import type { Task } from '../schedule/types.ts'
import { minutesFrom, type Temporal } from '../time.ts'
import type { TaskFact } from './facts.ts'
import type { Tick } from './ticks.ts'

/** A task with what people said about it: done, skipped, under way, fixed. */
export function ticked(task: Task, tick: Tick | undefined, startAt: Temporal.Instant): Task {
  if (!tick) return task
  const min = (at: Temporal.Instant) => minutesFrom(startAt, at)
  if (tick.done && !(tick.skipped && later(tick.skipped, tick.done))) {
    const endMin = min(tick.done.at)
    const began = tick.done.startAt ?? tick.started?.startAt ?? tick.started?.at
    const startMin = Math.min(endMin, began ? min(began) : endMin - task.elapsedMin)
    return { ...task, done: { startMin, endMin, people: peopleOf(tick.done, tick.started, tick.assigned) } }
  }
  if (tick.skipped) {
    const at = min(tick.skipped.at)
    return { ...task, elapsedMin: 0, crew: 0, crewMin: 0, uses: [], done: { startMin: at, endMin: at, people: [] } }
  }
  if (tick.started) {
    const startMin = min(tick.started.startAt ?? tick.started.at)
    return { ...task, started: { startMin, people: peopleOf(tick.started, tick.assigned) } }
  }
  const people = tick.assigned?.people ?? tick.pin?.people
  if (!tick.pin?.startAt && !people) return task
  return {
    ...task,
    pin: {
      ...(tick.pin?.startAt ? { startMin: min(tick.pin.startAt) } : {}),
      ...(people && people.length > 0 ? { people } : {}),
    },
  }
}

const later = (a: TaskFact, b: TaskFact): boolean => a.at.epochMilliseconds > b.at.epochMilliseconds

function peopleOf(...facts: readonly (TaskFact | undefined)[]): readonly string[] {
  for (const fact of facts) {
    if (fact?.people && fact.people.length > 0) return fact.people
    if (fact?.personId) return [fact.personId]
  }
  return []
}
