import type { Placed } from '../schedule/types.ts'
import { minutesFrom, type Temporal } from '../time.ts'
import { HOUR } from './setting.ts'
import type { TaskPlan } from './types.ts'

export type Stood = Pick<TaskPlan, 'key'> & Partial<Pick<TaskPlan, 'earliestAt' | 'latestAt' | 'startAt'>>

/** Less than this is the planner's own play: a tank that is free sooner, a crew that comes earlier. */
const PLAY_MIN = 12 * HOUR

/**
 * Lots whose work may begin much sooner than when the plan was made, or whose fruit comes on another day: picked
 * earlier, ticked ahead of time, other choices. Where their later work stood says nothing any more; kept, a pick moved
 * from 20 April to 28 March would have its first density read on 23 April.
 */
export function outrunLots(
  stood: readonly Stood[],
  placed: readonly Placed[],
  fixed: ReadonlySet<string>,
  startAt: Temporal.Instant,
): ReadonlySet<string> {
  const now = new Map(placed.map((p) => [p.key, p.earliestMin]))
  return new Set(
    stood.flatMap(({ key, earliestAt }) => {
      const earliestMin = now.get(key)
      if (earliestAt === undefined || earliestMin === undefined || fixed.has(key)) return []
      const byMin = minutesFrom(startAt, earliestAt) - earliestMin
      const fruit = /\/receive\/1$/.test(key)
      return byMin > PLAY_MIN || (fruit && byMin < -PLAY_MIN) ? [lotOf(key)] : []
    }),
  )
}

/** `L01` of `L01/receive/1`. */
export const lotOf = (key: string): string => key.split('/')[0] ?? key

/** People are told of the next two days; what is counted back from a finish lies later. */
const TOLD_MIN = 48 * HOUR

/**
 * Work whose last moment has gone with a finish to another day: it is counted back from there, and where it stood says
 * nothing any more. What is near stays where people know it.
 */
export function slidTasks(
  stood: readonly Stood[],
  placed: readonly Placed[],
  fixed: ReadonlySet<string>,
  startAt: Temporal.Instant,
  nowMin: number,
): ReadonlySet<string> {
  const now = new Map(placed.map((p) => [p.key, p.latestMin]))
  return new Set(
    stood.flatMap(({ key, latestAt, startAt: standsAt }) => {
      const latestMin = now.get(key)
      if (latestAt === undefined || standsAt === undefined || latestMin === undefined || fixed.has(key)) return []
      const byMin = Math.abs(minutesFrom(startAt, latestAt) - latestMin)
      return byMin > PLAY_MIN && minutesFrom(startAt, standsAt) > nowMin + TOLD_MIN ? [key] : []
    }),
  )
}
