import { fermentCurve, hourAtSugar, type Must, sugarAt } from './ferment-curve.ts'
import { type Fit, mustOf } from './ferment-fit.ts'

/** Hours on the caller's clock with an 80 % band; null: not within 100 days of the start. */
export interface Span {
  readonly earliest: number | null
  readonly likely: number | null
  readonly latest: number | null
}

/** Normal quantile of an 80 % band. */
export const Z80 = 1.2816
/**
 * Spread of the time still to go that no parameter of the model explains (sd of its logarithm), times the share of sugar still
 * there: growth in the first days is where laws differ most. Set, with the noise of the fit, so that the band keeps its promise on
 * ferments of other laws.
 */
const UNEXPLAINED = 0.2
/** Nearer than this the time still to go is not told apart. */
const NEAREST_H = 3

/**
 * Band of the hour a level is reached. From the best point, a step of the fit's own covariance along the direction that moves the
 * hour most, to either side: the most likely point of that quantile, which stays right where the hour bends sharply.
 */
export function spanTo(must: Must, fit: Fit, levelGPerL: number, nowH: number, untilH: number): Span {
  const hourOf = (logs: readonly number[]) => hourAtSugar(fermentCurve(mustOf(must, logs), untilH), levelGPerL)
  const curve = fermentCurve(mustOf(must, fit.best), untilH)
  const likely = hourAtSugar(curve, levelGPerL)
  if (likely !== null && likely <= nowH) return { earliest: likely, likely, latest: likely }
  const leftOf = (hour: number | null) => Math.log(Math.max(NEAREST_H, (hour ?? untilH) - nowH))
  const left = leftOf(likely)
  const unexplained = (Z80 * UNEXPLAINED * sugarAt(curve, nowH)) / curve.must.sugarGPerL
  const slopes = fit.best.map((_, p) => (leftOf(hourOf(nudged(fit.best, p, 0.05))) - left) / 0.05)
  const reach = fit.covariance.map((row) => row.reduce((total, c, q) => total + c * (slopes[q] ?? 0), 0))
  const sd = Math.sqrt(reach.reduce((total, r, p) => total + r * (slopes[p] ?? 0), 0))
  const hourAside = (side: number) =>
    hourOf(fit.best.map((x, p) => x + (side * Z80 * (reach[p] ?? 0)) / Math.max(1e-9, sd)))
  const widened = (hour: number | null, side: number) => {
    if (hour === null) return null
    const apart = Math.max(0, side * (leftOf(hour) - left))
    return nowH + Math.exp(left + side * Math.hypot(apart, unexplained))
  }
  const earliest = widened(hourAside(-1), -1)
  const latest = widened(hourAside(1), 1)
  // Within the last hours the floor of NEAREST_H would put the band to one side of the likely hour.
  return {
    earliest: earliest === null || likely === null ? earliest : Math.min(earliest, likely),
    likely,
    latest: latest === null || likely === null ? latest : Math.max(latest, likely),
  }
}

const nudged = (logs: readonly number[], p: number, by: number): readonly number[] =>
  logs.map((x, q) => (p === q ? x + by : x))
