/** Which work lies so far ahead that it is planned to the day. */
import type { Plan, Task } from '../schedule/types.ts'
import { dayOf, minutesFrom, type Temporal, wallTimeAt } from '../time.ts'
import type { Facts } from './facts.ts'
import { DAY } from './setting.ts'
import type { Grain, TaskPlan } from './types.ts'

export type IsFar = (task: Task) => boolean

/** Where work stands in the plan before, and how finely people know it; without a grain nobody knows it yet. */
export type Standing = ReadonlyMap<string, { readonly startMin: number; readonly grain?: Grain }>

/** Work whose hour and hands are told stays so until it lies this far beyond the edge: a plan's own play takes no names back. */
const STAYS_MIN = 7 * DAY

/** Minute from which on work is planned to the day: local midnight so many weeks from today. */
export function exactUntil(facts: Pick<Facts, 'cellar'>, startAt: Temporal.Instant, nowAt: Temporal.Instant): number {
  const { exactWeeks, zone } = facts.cellar
  if (exactWeeks === undefined) return Infinity
  return minutesFrom(startAt, wallTimeAt(dayOf(nowAt, zone).add({ weeks: exactWeeks }), 0, zone))
}

/** Open work that nobody pinned and that stands at the edge or beyond. */
export const farFrom =
  (edgeMin: number, standing: Standing): IsFar =>
  (task) => {
    if (task.done || task.started || task.pin) return false
    const at = standing.get(task.key)
    return at !== undefined && at.startMin >= edgeMin + (at.grain === 'minute' ? STAYS_MIN : 0)
  }

export const standingOf = (
  known: readonly (Pick<TaskPlan, 'key' | 'startAt'> & { readonly grain?: Grain })[],
  startAt: Temporal.Instant,
): Standing =>
  new Map(
    known.map((t) => [t.key, { startMin: minutesFrom(startAt, t.startAt), ...(t.grain ? { grain: t.grain } : {}) }]),
  )

/** @param isTold whether people know work by the grain it has in this plan */
export const standingIn = (plan: Plan, isTold: boolean): Standing =>
  new Map(
    plan.placed.map((p) => [
      p.key,
      { startMin: p.startMin, ...(isTold ? { grain: p.byDay ? ('day' as const) : ('minute' as const) } : {}) },
    ]),
  )
