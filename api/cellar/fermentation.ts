import { fermentCurve, hourAtSugar, type Must, sugarAt } from './ferment-curve.ts'
import { type Fit, type FitPrior, fitReadings, mustOf, priorFit, type SugarReading } from './ferment-fit.ts'
import { positive, within } from './guard.ts'
import { sugarOfBrix } from './sugar.ts'
import { type TempPlan, tempAtHour, tempPoints } from './temperature.ts'

/** What starts the ferment. Anything but a cultured yeast begins with fewer cells, later and less surely. */
export const YEAST_KINDS = ['selected', 'ambient', 'vineyard-starter', 'non-saccharomyces'] as const
export type YeastKind = (typeof YEAST_KINDS)[number]

/**
 * Cells at the start as a share of a full dry-yeast dose, and how unsure that is (sd of the logarithm). Our estimate:
 * a share of 0.08 (0.02 g/L) starts 2-4 days later at 15 C, as ambient ferments do in practice.
 */
const START: Readonly<Record<YeastKind, { readonly share: number; readonly spread: number; readonly pace: number }>> = {
  selected: { share: 1, spread: 0.35, pace: 0.5 },
  'non-saccharomyces': { share: 0.4, spread: 0.6, pace: 0.55 },
  'vineyard-starter': { share: 0.3, spread: 0.8, pace: 0.6 },
  ambient: { share: 0.08, spread: 1, pace: 0.65 },
}

/** Coleman's flask is fast for a cool tank: 0.57 puts 15 C, 250 mg/L, 240 g/L at 13-14 days. Our estimate. */
export const DEFAULT_PACE = 0.57
export const DRY_G_PER_L = 2
/** Normal quantile of an 80 % band. */
const Z80 = 1.2816
/** 0.3 Brix of reading noise is 3.3 g/L; the rest is what the model cannot follow. */
const NOISE_G_PER_L = 5

export interface FermentInput {
  /** One of the two. Brix of the juice, or its fermentable sugar. */
  readonly brix?: number
  readonly sugarGPerL?: number
  readonly yanMgPerL: number
  readonly yeast: YeastKind
  /** Dry yeast, default 25 g/hL. */
  readonly yeastGPerHL?: number
  readonly tempPlan: TempPlan
  /** Default 0.57; a cellar's own from its old lots. */
  readonly paceFactor?: number
  /** How unsure the pace is before readings: sd of its logarithm. */
  readonly paceSpread?: number
  /** When the yeast goes in, on the clock of tempPlan and readings. Default 0. */
  readonly startAtH?: number
  /** Fermentable sugar left, measured. */
  readonly readings?: readonly SugarReading[]
  /** Ask for the moment this is reached. */
  readonly stopSugarGPerL?: number
  /** Default 2 g/L. */
  readonly drySugarGPerL?: number
}

export interface Span {
  /** Hours on the input's clock; null: not within 100 days. */
  readonly earliest: number | null
  readonly likely: number | null
  readonly latest: number | null
}

export interface FermentPoint {
  readonly hour: number
  readonly sugarGPerL: number
  readonly lowGPerL: number
  readonly highGPerL: number
  readonly tempC: number
}

export interface FermentForecast {
  readonly points: readonly FermentPoint[]
  readonly dryH: Span
  readonly stopH?: Span
  /** g/L a day, one figure for each 24 h from the start. */
  readonly sugarFallPerDay: readonly number[]
  readonly pace: number
  readonly tail: number
  /** What is left when nothing more happens; above drySugarGPerL the model calls it stuck. */
  readonly restGPerL: number
}

/** The must as the readings say it is: likely pace, start, tail and sugar. Before readings, the must as given. */
export function likelyMust(input: FermentInput): Must {
  const { must, fit } = fitted(input)
  return mustOf(must, fit.best)
}

function fitted(input: FermentInput) {
  const startH = input.startAtH ?? 0
  const must = mustFrom(input, startH)
  const prior = priorFrom(input, must)
  const readings = (input.readings ?? []).map(checkReading)
  const fit = readings.length === 0 ? priorFit(prior) : fitReadings(must, prior, readings, NOISE_G_PER_L)
  return { startH, must, fit, nowH: Math.max(startH, ...readings.map((r) => r.hour)) }
}

/** Course of a ferment with its 80 % band, from the must alone or corrected by readings. */
export function forecastFerment(input: FermentInput): FermentForecast {
  const { startH, must, fit, nowH } = fitted(input)
  const likely = mustOf(must, fit.best)
  const untilH = startH + 2400
  const curve = fermentCurve(likely, untilH)
  const spanTo = (level: number) => spanOf(must, fit, level, nowH, untilH)
  const dry = spanTo(input.drySugarGPerL ?? DRY_G_PER_L)
  const width = timeSpread(dry, nowH)
  const points = tempPoints(input.tempPlan)
  const endH = startH + 24 * Math.ceil(((dry.latest ?? startH + 1440) - startH) / 24)
  const at = (hour: number) => sugarAt(curve, Math.max(startH, hour))
  const list: FermentPoint[] = []
  for (let hour = startH; hour <= endH; hour += 6) {
    const ahead = hour - nowH
    list.push({
      hour,
      sugarGPerL: at(hour),
      lowGPerL: at(nowH + ahead * width),
      highGPerL: at(nowH + ahead / width),
      tempC: tempAtHour(points, hour),
    })
  }
  const days = Math.ceil(((dry.likely ?? endH) - startH) / 24)
  return {
    points: list.map((p) => ({
      ...p,
      lowGPerL: Math.min(p.lowGPerL, p.highGPerL),
      highGPerL: Math.max(p.lowGPerL, p.highGPerL),
    })),
    dryH: dry,
    stopH: input.stopSugarGPerL === undefined ? undefined : spanTo(input.stopSugarGPerL),
    sugarFallPerDay: Array.from({ length: days }, (_, d) => at(startH + 24 * d) - at(startH + 24 * (d + 1))),
    pace: likely.pace,
    tail: likely.tail,
    restGPerL: at(untilH),
  }
}

/** Hours to chill or warm a volume: L x 1.08 x 3.6 x dT / (3600 kW). Common practice; 1.08 kg/L and 3.6 kJ/kg/K for must. */
export function chillHours(volumeL: number, deltaC: number, powerKW: number): number {
  positive('volumeL', volumeL, 'L')
  within('deltaC', deltaC, 0, 60, 'K')
  positive('powerKW', powerKW, 'kW')
  return (volumeL * 1.08 * 3.6 * deltaC) / (3600 * powerKW)
}

function mustFrom(input: FermentInput, startH: number): Must {
  if ((input.brix === undefined) === (input.sugarGPerL === undefined))
    throw new RangeError('expected either brix or sugarGPerL')
  const sugarGPerL = input.sugarGPerL ?? sugarOfBrix(input.brix as number)
  const dose = within('yeastGPerHL', input.yeastGPerHL ?? 25, 5, 100, 'g/hL') / 100
  return {
    sugarGPerL: within('sugarGPerL', sugarGPerL, 20, 400, 'g/L'),
    yanMgPerL: within('yanMgPerL', input.yanMgPerL, 10, 1000, 'mg/L'),
    yeastGPerL: dose * START[input.yeast].share,
    tempPlan: input.tempPlan,
    startH,
    pace: within('paceFactor', input.paceFactor ?? DEFAULT_PACE, 0.05, 5),
    tail: 1,
  }
}

function priorFrom(input: FermentInput, must: Must): FitPrior {
  const start = START[input.yeast]
  return {
    pace: must.pace,
    yeastGPerL: must.yeastGPerL,
    tail: 1,
    sugarGPerL: must.sugarGPerL,
    spread: [input.paceSpread ?? start.pace, start.spread, 0.4, 0.02],
  }
}

function checkReading(reading: SugarReading): SugarReading {
  if (!Number.isFinite(reading.hour)) throw new RangeError(`reading hour is ${reading.hour}, expected a number`)
  within('reading sugarGPerL', reading.sugarGPerL, -10, 400, 'g/L')
  return reading
}

/** Time still to go is taken as log-normal: its spread is the fit's covariance seen through the slope of the time. */
function spanOf(must: Must, fit: Fit, level: number, nowH: number, untilH: number): Span {
  const hourOf = (logs: readonly number[]) => hourAtSugar(fermentCurve(mustOf(must, logs), untilH), level)
  const likely = hourOf(fit.best)
  if (likely === null) return { earliest: null, likely: null, latest: null }
  const left = Math.max(1, likely - nowH)
  const slopes = fit.best.map((_, p) => {
    const moved = hourOf(fit.best.map((x, q) => (p === q ? x + 0.02 : x)))
    return moved === null ? 0 : Math.log(Math.max(1, moved - nowH) / left) / 0.02
  })
  const variance = slopes.reduce(
    (total, a, p) => total + slopes.reduce((row, b, q) => row + a * b * (fit.covariance[p]?.[q] ?? 0), 0),
    0,
  )
  const factor = Math.exp(Z80 * Math.sqrt(variance))
  if (likely <= nowH) return { earliest: likely, likely, latest: likely }
  return { earliest: nowH + left / factor, likely, latest: nowH + left * factor }
}

const timeSpread = (span: Span, nowH: number): number =>
  span.likely === null || span.latest === null || span.likely <= nowH
    ? 1
    : Math.max(1, (span.latest - nowH) / (span.likely - nowH))
