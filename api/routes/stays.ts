/** "Only this": a pin that leaves the lot's other tasks where they are. What would have followed is pinned in its place. */
import { listTaskFacts, type StoredTaskFact } from '../../db/queries/records.ts'
import { findTasks, type StoredTask } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { newId } from '../ids.ts'
import type { Facts, TaskFact } from '../protocol/facts.ts'
import { type By, type Ground, tryPlanOn } from '../replan.ts'
import { standing } from '../shapes/task.ts'
import type { Temporal } from '../time.ts'

const isOpen = (t: StoredTask) => t.state === 'planned' || t.state === 'due' || t.state === 'blocked'

export const stayReason = (key: string): string => `Stays where it is while ${key} moves`

/** Pins that were thought out on a ground which may have changed until they are written. */
export interface Stays {
  readonly pins: readonly TaskFact[]
  readonly ground: Ground
}

/** @returns pins for the open tasks of the same lot that would move with it; none where none would */
export async function stayPins(
  db: Db,
  cellarId: string,
  task: StoredTask,
  pin: TaskFact,
  nowAt: Temporal.Instant,
  by?: By,
): Promise<Stays> {
  const withPin = (f: Facts): Facts => ({ ...f, taskFacts: [...f.taskFacts, pin] })
  const { plan, ground } = await tryPlanOn(db, cellarId, nowAt, withPin, by)
  const would = new Map(plan.tasks.map((t) => [t.key, t.startAt.epochMilliseconds]))
  const moved = ground.stored.filter(
    (t) =>
      t.lotId === task.lotId &&
      t.key !== task.key &&
      isOpen(t) &&
      !t.rest.pinned &&
      would.has(t.key) &&
      would.get(t.key) !== t.startAt.epochMilliseconds,
  )
  const pins = moved.map((t) => ({
    id: newId(nowAt.epochMilliseconds),
    taskKey: t.key,
    kind: 'pin' as const,
    at: pin.at,
    ...(pin.personId ? { personId: pin.personId } : {}),
    startAt: t.startAt,
    reason: stayReason(task.key),
  }))
  return { pins, ground }
}

/** Without those whose task was moved, or told of, since: nobody asked it to stay there. Call it under the plan's lock. */
export async function stillStays(db: Db, cellarId: string, { pins, ground }: Stays): Promise<readonly TaskFact[]> {
  const keys = pins.map((p) => p.taskKey)
  const wasAt = new Map(ground.stored.map((t) => [t.key, t.revision]))
  const isAt = new Map((await findTasks(db, cellarId, keys)).map((t) => [t.key, t.revision]))
  const told = countOf(ground.facts.taskFacts)
  const toldNow = countOf(await listTaskFacts(db, cellarId))
  return pins.filter(
    ({ taskKey: key }) => wasAt.get(key) === isAt.get(key) && (told.get(key) ?? 0) === (toldNow.get(key) ?? 0),
  )
}

function countOf(facts: readonly TaskFact[]): ReadonlyMap<string, number> {
  const counts = new Map<string, number>()
  for (const { taskKey } of facts) counts.set(taskKey, (counts.get(taskKey) ?? 0) + 1)
  return counts
}

/** Pins that were set together with this one and go with it. */
export async function staysOf(db: Db, cellarId: string, pin: StoredTaskFact): Promise<readonly StoredTaskFact[]> {
  if (pin.kind !== 'pin') return []
  return standing(await listTaskFacts(db, cellarId)).filter(
    (f) =>
      f.kind === 'pin' && f.reason === stayReason(pin.taskKey) && f.at.epochMilliseconds === pin.at.epochMilliseconds,
  )
}
