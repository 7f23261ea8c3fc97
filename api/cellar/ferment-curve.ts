import { cellYield, ethanolRateMax, growthMax, K_N, K_S, killRate, NITROGEN_CAP_MG_PER_L, Y_ES } from './coleman.ts'
import { within } from './guard.ts'
import { hourDownTo, integrate, type Track, trackAt } from './integrate.ts'
import { type TempPlan, tempAtHour, tempPoints } from './temperature.ts'

/** What a ferment starts from. */
export interface Must {
  readonly sugarGPerL: number
  readonly yanMgPerL: number
  /** Cells at the start, g/L: 0.25 is 25 g/hL of dry yeast (Coleman's inoculum: 0.1-0.3). */
  readonly yeastGPerL: number
  /** Hours on the same clock as `startH` and the answer. */
  readonly tempPlan: TempPlan
  readonly startH: number
  /** Multiplies growth, sugar rate and loss of active cells alike: every time is divided by it. 1 is Coleman's flask. */
  readonly pace: number
  /**
   * Multiplies the sugar at half rate, K_S, the first rate kept: above 1 the end is slower, without sticking. 1 is Coleman.
   * Cellar ferments have longer tails than flasks; this is the knob the readings turn.
   */
  readonly tail: number
  /** Nitrogen above this counts as this. Default 277, the model's own peak; Infinity for the bare system. */
  readonly yanCapMgPerL?: number
}

const TOTAL = 0
const ACTIVE = 1
const SUGAR = 2

/** Whole course of a ferment. Sugar and ethanol, cells and nitrogen are tied by the model's yields, so three states do. */
export interface FermentCurve {
  readonly track: Track
  readonly must: Must
}

/**
 * Sugar over time. Range: 0.5-400 g/L sugar, 1-1000 mg/L nitrogen (fitted 70-350, capped at 277), 0-45 C (fitted 11-35).
 * Accuracy of the absolute time: a factor of two either way (measured ferments of Varela 2004 and Palma 2012 lie at
 * 1.9 times slower and 1.9 times faster); the fit to readings is what makes it useful. Numerical error below 0.3 %.
 */
export function fermentCurve(must: Must, untilH: number, tolerance = 7e-5): FermentCurve {
  within('sugarGPerL', must.sugarGPerL, 0.5, 400, 'g/L')
  within('yanMgPerL', must.yanMgPerL, 1, 1000, 'mg/L')
  within('yeastGPerL', must.yeastGPerL, 1e-6, 5, 'g/L')
  within('pace', must.pace, 0.01, 20)
  within('tail', must.tail, 0.05, 100)
  const points = tempPoints(must.tempPlan)
  const startYan = countedYan(must)
  const yieldXN = cellYield(startYan)
  const cellsMax = must.yeastGPerL + (yieldXN * startYan) / 1000
  const { pace, sugarGPerL, tail } = must
  const halfSugar = K_S * tail
  const sameFirstRate = (halfSugar + sugarGPerL) / (K_S + sugarGPerL)
  const steady = points.every((p) => p.tempC === points[0]?.tempC)
  let knownC = Number.NaN
  let muMax = 0
  let betaMax = 0
  let kill = 0
  const slope = (hour: number, state: Float64Array, out: Float64Array) => {
    const tempC = steady ? (points[0]?.tempC ?? 0) : tempAtHour(points, hour)
    if (tempC !== knownC) {
      knownC = tempC
      muMax = pace * growthMax(tempC)
      betaMax = pace * sameFirstRate * ethanolRateMax(tempC)
      kill = pace * killRate(tempC)
    }
    const active = state[ACTIVE] as number
    const sugar = Math.max(0, state[SUGAR] as number)
    const nitrogen = Math.max(0, (cellsMax - (state[TOTAL] as number)) / yieldXN)
    const growth = ((muMax * nitrogen) / (K_N + nitrogen)) * active
    out[TOTAL] = growth
    out[ACTIVE] = growth - kill * Y_ES * (sugarGPerL - sugar) * active
    out[SUGAR] = (-((betaMax * sugar) / (halfSugar + sugar)) * active) / Y_ES
  }
  const start = Float64Array.of(must.yeastGPerL, must.yeastGPerL, sugarGPerL)
  const track = integrate(
    slope,
    must.startH,
    start,
    points.map((p) => p.hour),
    untilH,
    {
      relTol: tolerance,
      absTol: tolerance,
      maxStepH: Math.max(6, (untilH - must.startH) / 30),
      done: (_, state) => (state[SUGAR] as number) < 0.05,
    },
  )
  return { track, must }
}

/** g/L left at an hour; the must's own sugar before the start. */
export const sugarAt = (curve: FermentCurve, hour: number): number => Math.max(0, trackAt(curve.track, SUGAR, hour))

/** Hour at which sugar comes down to a level, null if the ferment stops above it. */
export const hourAtSugar = (curve: FermentCurve, sugarGPerL: number): number | null =>
  hourDownTo(curve.track, SUGAR, sugarGPerL)

/** Total and active cells, nitrogen (mg/L) and ethanol as the model counts them (g/L), for the mass balance. */
export function statesAt(curve: FermentCurve, hour: number) {
  const { must, track } = curve
  const cellsGPerL = trackAt(track, TOTAL, hour)
  const startYan = countedYan(must)
  return {
    cellsGPerL,
    activeCellsGPerL: trackAt(track, ACTIVE, hour),
    yanMgPerL: Math.max(0, startYan - (1000 * (cellsGPerL - must.yeastGPerL)) / cellYield(startYan)),
    ethanolGPerL: Y_ES * (must.sugarGPerL - sugarAt(curve, hour)),
  }
}

const countedYan = (must: Must): number => Math.min(must.yanMgPerL, must.yanCapMgPerL ?? NITROGEN_CAP_MG_PER_L)
