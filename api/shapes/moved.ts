/** What another plan would change: each task where it stands now and where it would stand. */
import { z } from '@hono/zod-openapi'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { isElsewhere } from '../protocol/moved.ts'
import type { TaskPlan } from '../protocol/types.ts'
import { moment, taskWire } from '../wire.ts'
import { plannedToWire, type TaskNames, taskToWire } from './task.ts'

export const movedWire = taskWire
  .extend({
    fromStartAt: moment.nullable().openapi({ description: 'Where it stands now; null: it is new' }),
    fromEndAt: moment.nullable(),
    fromGrain: taskWire.shape.grain,
    fromPeople: z.array(z.string()),
    gone: z.boolean().openapi({ description: 'The plan would no longer need it' }),
  })
  .openapi('TaskMoved')

export type MovedWire = z.output<typeof movedWire>

/** Tasks that would stand elsewhere, with other people, or not at all. */
export function differences(
  stored: readonly StoredTask[],
  planned: readonly TaskPlan[],
  names: TaskNames,
  zone: string,
): MovedWire[] {
  const before = new Map(stored.filter((t) => t.state !== 'cancelled').map((t) => [t.key, t]))
  const after = new Map(planned.map((t) => [t.key, t]))
  const from = (old: StoredTask | undefined) => ({
    fromStartAt: old?.startAt.toString() ?? null,
    fromEndAt: old?.endAt.toString() ?? null,
    fromGrain: old?.rest.grain ?? ('minute' as const),
    fromPeople: [...(old?.people ?? [])],
  })
  const moves = planned.flatMap((next) => {
    const old = before.get(next.key)
    if (old && (old.state === 'done' || sameStand(old, next, zone))) return []
    return [{ ...plannedToWire(next, old, names), ...from(old), gone: false }]
  })
  const gone = [...before.values()]
    .filter((old) => !after.has(old.key) && old.state !== 'done')
    .map((old) => ({ ...taskToWire(old, names), ...from(old), gone: true }))
  return [...moves, ...gone]
}

/** Work that gets its hour and hands on the day it stood is not moved. */
function sameStand(old: StoredTask, next: TaskPlan, zone: string): boolean {
  const grain = old.rest.grain ?? 'minute'
  if (isElsewhere({ startAt: old.startAt, grain }, next, zone)) return false
  if (grain === 'day' || next.grain === 'day') return true
  return old.endAt.equals(next.endAt) && old.people.join() === next.people.join()
}
