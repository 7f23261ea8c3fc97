import { fermentCurve, type Must, sugarAt } from './ferment-curve.ts'

/**
 * Fit of a ferment to its readings: Bayesian least squares (maximum a posteriori, Gauss-Newton with damping,
 * covariance from the curvature at the best point). Four unknowns, each as a natural logarithm with a normal prior:
 * pace, cells at the start (a late start is few cells), tail, and the must's own sugar.
 */
export interface FitPrior {
  readonly pace: number
  readonly yeastGPerL: number
  readonly tail: number
  readonly sugarGPerL: number
  /** Standard deviations of the logarithms, same order. */
  readonly spread: readonly [pace: number, yeast: number, tail: number, sugar: number]
}

export interface SugarReading {
  readonly hour: number
  readonly sugarGPerL: number
}

export interface Fit {
  /** Logarithms of pace, yeast, tail, sugar. */
  readonly best: readonly number[]
  readonly covariance: readonly (readonly number[])[]
}

const STEP = 0.02

/** The search stays where the model means something: pace, cells (g/L), tail, sugar (g/L). */
const SEARCH_LOW = [0.02, 1e-4, 0.02, 20].map(Math.log)
const SEARCH_HIGH = [10, 4, 60, 390].map(Math.log)
const inSearch = (x: number, p: number): number => Math.min(num(SEARCH_HIGH, p), Math.max(num(SEARCH_LOW, p), x))

export function priorFit(prior: FitPrior): Fit {
  const best = [prior.pace, prior.yeastGPerL, prior.tail, prior.sugarGPerL].map(Math.log)
  return { best, covariance: prior.spread.map((s, i) => prior.spread.map((_, j) => (i === j ? s * s : 0))) }
}

/** The must that a set of logarithms stands for. */
export function mustOf(must: Must, logs: readonly number[]): Must {
  // A step far out along the fit's covariance may leave the model's range; the curve there is that of its edge.
  const within = (p: number, least: number, most: number) => Math.min(most, Math.max(least, Math.exp(logs[p] ?? 0)))
  return {
    ...must,
    pace: within(0, 0.01, 20),
    yeastGPerL: within(1, 1e-6, 5),
    tail: within(2, 0.05, 100),
    sugarGPerL: within(3, 0.5, 400),
  }
}

export function fitReadings(must: Must, prior: FitPrior, readings: readonly SugarReading[], noiseGPerL: number): Fit {
  const start = priorFit(prior)
  const used = readings.filter((r) => r.hour >= must.startH)
  if (used.length === 0) return start
  const untilH = Math.max(...used.map((r) => r.hour)) + 0.01
  const centre = start.best
  const predict = (logs: readonly number[]) => {
    const curve = fermentCurve(mustOf(must, logs), untilH)
    return used.map((r) => sugarAt(curve, r.hour))
  }
  const cost = (logs: readonly number[], predicted: readonly number[]) =>
    sum(used.map((r, i) => ((r.sugarGPerL - num(predicted, i)) / noiseGPerL) ** 2)) +
    sum(logs.map((x, p) => ((x - num(centre, p)) / num(prior.spread, p)) ** 2))

  let logs = [...centre]
  let predicted = predict(logs)
  let value = cost(logs, predicted)
  let damping = 1e-3
  let covariance = start.covariance
  for (let round = 0; round < 12; round++) {
    const columns = logs.map((_, p) => {
      const moved = predict(logs.map((x, q) => (p === q ? x + STEP : x)))
      return moved.map((y, i) => (y - num(predicted, i)) / STEP)
    })
    const curvature = logs.map((_, p) =>
      logs.map(
        (_, q) =>
          sum(used.map((_, i) => at2(columns, p, i) * at2(columns, q, i))) / noiseGPerL ** 2 +
          (p === q ? 1 / num(prior.spread, p) ** 2 : 0),
      ),
    )
    const pull = logs.map(
      (x, p) =>
        sum(used.map((r, i) => at2(columns, p, i) * (r.sugarGPerL - num(predicted, i)))) / noiseGPerL ** 2 -
        (x - num(centre, p)) / num(prior.spread, p) ** 2,
    )
    covariance = inverse(curvature)
    const damped = curvature.map((row, p) => row.map((c, q) => (p === q ? c * (1 + damping) : c)))
    const move = times(inverse(damped), pull).map((m) => Math.max(-1, Math.min(1, m)))
    const tried = logs.map((x, p) => inSearch(x + num(move, p), p))
    const triedPredicted = predict(tried)
    const triedValue = cost(tried, triedPredicted)
    if (triedValue < value) {
      const gain = value - triedValue
      logs = tried
      predicted = triedPredicted
      value = triedValue
      damping = Math.max(1e-6, damping / 5)
      if (gain < 0.01) break
    } else {
      damping *= 10
      if (damping > 1e4) break
    }
  }
  return { best: logs, covariance }
}

/** Inverse of a small positive definite matrix, by Gauss-Jordan. */
export function inverse(matrix: readonly (readonly number[])[]): number[][] {
  const size = matrix.length
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))])
  for (let col = 0; col < size; col++) {
    let pivot = col
    for (let row = col + 1; row < size; row++)
      if (Math.abs(at2(work, row, col)) > Math.abs(at2(work, pivot, col))) pivot = row
    const line = work[pivot] as number[]
    work[pivot] = work[col] as number[]
    const scale = line[col] as number
    work[col] = line.map((x) => x / scale)
    for (let row = 0; row < size; row++) {
      if (row === col) continue
      const factor = at2(work, row, col)
      work[row] = (work[row] as number[]).map((x, i) => x - factor * at2(work, col, i))
    }
  }
  return work.map((row) => row.slice(size))
}

const sum = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0)
const num = (list: readonly number[], i: number): number => list[i] as number
const at2 = (list: readonly (readonly number[])[], i: number, j: number): number => (list[i] as number[])[j] as number
const times = (matrix: readonly (readonly number[])[], vector: readonly number[]): number[] =>
  matrix.map((row) => sum(row.map((x, i) => x * num(vector, i))))
