/** "Only this": a pin that leaves the lot's other tasks where they are. What would have followed is pinned in its place. */
import { listTaskFacts, type StoredTaskFact } from '../../db/queries/records.ts'
import { listTasks, type StoredTask } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { newId } from '../ids.ts'
import type { Facts, TaskFact } from '../protocol/facts.ts'
import { type By, tryPlan } from '../replan.ts'
import { standing } from '../shapes/task.ts'
import type { Temporal } from '../time.ts'

const isOpen = (t: StoredTask) => t.state === 'planned' || t.state === 'due' || t.state === 'blocked'

export const stayReason = (key: string): string => `Stays where it is while ${key} moves`

/** @returns pins for the open tasks of the same lot that would move with it; none where none would */
export async function stayPins(
  db: Db,
  cellarId: string,
  task: StoredTask,
  pin: TaskFact,
  nowAt: Temporal.Instant,
  by?: By,
): Promise<readonly TaskFact[]> {
  const withPin = (f: Facts): Facts => ({ ...f, taskFacts: [...f.taskFacts, pin] })
  const plan = await tryPlan(db, cellarId, nowAt, withPin, by)
  const would = new Map(plan.tasks.map((t) => [t.key, t.startAt.epochMilliseconds]))
  const moved = (await listTasks(db, cellarId, task.lotId ? { lotId: task.lotId } : {})).filter(
    (t) =>
      t.lotId === task.lotId &&
      t.key !== task.key &&
      isOpen(t) &&
      !t.rest.pinned &&
      would.has(t.key) &&
      would.get(t.key) !== t.startAt.epochMilliseconds,
  )
  return moved.map((t) => ({
    id: newId(nowAt.epochMilliseconds),
    taskKey: t.key,
    kind: 'pin',
    at: pin.at,
    ...(pin.personId ? { personId: pin.personId } : {}),
    startAt: t.startAt,
    reason: stayReason(task.key),
  }))
}

/** Pins that were set together with this one and go with it. */
export async function staysOf(db: Db, cellarId: string, pin: StoredTaskFact): Promise<readonly StoredTaskFact[]> {
  if (pin.kind !== 'pin') return []
  return standing(await listTaskFacts(db, cellarId)).filter(
    (f) =>
      f.kind === 'pin' && f.reason === stayReason(pin.taskKey) && f.at.epochMilliseconds === pin.at.epochMilliseconds,
  )
}
