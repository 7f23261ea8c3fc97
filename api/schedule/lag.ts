import { firstAtWork, lastAtWork, type Open, workedAt } from './calendar.ts'

/**
 * The four bounds of a lag between an edge (of the task before) and a start (of the task after).
 * Each is non-decreasing, so the least and greatest solutions of a network still exist with calendars.
 * A lag on the working clock counts open minutes; a lag of at least 0 never lets the start come before the edge.
 */
export interface Lag {
  readonly minLagMin: number
  readonly maxLagMin: number
  readonly working: boolean
}

/** Earliest start when the edge is no earlier than `edge`. */
export function startFrom(lag: Lag, edge: number, open: Open): number {
  if (!lag.working) return edge + lag.minLagMin
  if (lag.minLagMin === -Infinity) return -Infinity
  const start = firstAtWork(open, workedAt(open, edge) + lag.minLagMin)
  return lag.minLagMin >= 0 ? Math.max(edge, start) : start
}

/** Latest start when the edge is no later than `edge`. */
export function startUntil(lag: Lag, edge: number, open: Open): number {
  if (lag.maxLagMin === Infinity) return Infinity
  if (!lag.working) return edge + lag.maxLagMin
  return lastAtWork(open, workedAt(open, edge) + lag.maxLagMin)
}

/** Earliest edge when the start is no earlier than `start`. */
export function edgeFrom(lag: Lag, start: number, open: Open): number {
  if (lag.maxLagMin === Infinity) return -Infinity
  if (!lag.working) return start - lag.maxLagMin
  return firstAtWork(open, workedAt(open, start) - lag.maxLagMin)
}

/** Latest edge when the start is no later than `start`. */
export function edgeUntil(lag: Lag, start: number, open: Open): number {
  if (lag.minLagMin === -Infinity) return Infinity
  if (!lag.working) return start - lag.minLagMin
  const edge = lastAtWork(open, workedAt(open, start) - lag.minLagMin)
  return lag.minLagMin >= 0 ? Math.min(start, edge) : edge
}
