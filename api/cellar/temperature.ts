import { within } from './guard.ts'

/** Wine temperature over time: straight lines between points; two points at one hour make a step. */
export interface TempPoint {
  readonly hour: number
  readonly tempC: number
}

/** One temperature held throughout, or points in order of hour. */
export type TempPlan = number | readonly TempPoint[]

/** The points of a plan, checked. Before the first and after the last the temperature is held. */
export function tempPoints(plan: TempPlan): readonly TempPoint[] {
  const points = typeof plan === 'number' ? [{ hour: 0, tempC: plan }] : plan
  if (points.length === 0) throw new RangeError('tempPlan has no point, expected a temperature or one point at least')
  for (const [at, point] of points.entries()) {
    within('tempPlan tempC', point.tempC, 0, 45, 'C')
    const before = points[at - 1]
    if (!Number.isFinite(point.hour) || (before && point.hour < before.hour))
      throw new RangeError(`tempPlan hour is ${point.hour}, expected a number not before ${before?.hour ?? 'any'}`)
  }
  return points
}

/** Temperature at an hour; at a step the later value. */
export function tempAtHour(points: readonly TempPoint[], hour: number): number {
  let last = points[0] as TempPoint
  if (hour < last.hour) return last.tempC
  for (const next of points) {
    if (next.hour > hour) {
      const share = (hour - last.hour) / (next.hour - last.hour)
      return last.tempC + share * (next.tempC - last.tempC)
    }
    last = next
  }
  return last.tempC
}
