import { type Span, spanTo, Z80 } from './ferment-band.ts'
import { fermentCurve, type Must, sugarAt } from './ferment-curve.ts'
import { fitReadings, mustOf, priorFit, type SugarReading } from './ferment-fit.ts'
import {
  type CellarPace,
  DEFAULT_PACE,
  type FinishedFerment,
  priorOf,
  usualCells,
  YEAST_KINDS,
  type YeastKind,
} from './ferment-prior.ts'
import { positive, within } from './guard.ts'
import { sugarOfBrix } from './sugar.ts'
import { type TempPlan, tempAtHour, tempPoints } from './temperature.ts'

export { type CellarPace, DEFAULT_PACE, type Span, YEAST_KINDS, type YeastKind }

/** Dry, as the forecast counts it. */
export const DRY_G_PER_L = 2
/** Spread of a sugar reading about the curve: 0.3 Brix is 3.2 g/L, the rest is what the model cannot follow. */
const NOISE_G_PER_L = 3.5
const POINT_EVERY_H = 6
/** A ferment that has not come down in this time does not. */
const HORIZON_H = 2400

export interface FermentInput {
  /** One of the two. Brix of the juice, or its fermentable sugar. */
  readonly brix?: number
  readonly sugarGPerL?: number
  readonly yanMgPerL: number
  readonly yeast: YeastKind
  /** Dry yeast, default 25 g/hL. */
  readonly yeastGPerHL?: number
  readonly tempPlan: TempPlan
  /** Default 0.6. `cellar` overrides it. */
  readonly paceFactor?: number
  /** What the cellar's finished ferments taught. */
  readonly cellar?: CellarPace
  /** When the yeast goes in, on the clock of tempPlan and readings. Default 0. */
  readonly startAtH?: number
  /** Fermentable sugar left, measured. Weighed from the first on; two or more move the band. */
  readonly readings?: readonly SugarReading[]
  /** Ask for the moment this is reached. */
  readonly stopSugarGPerL?: number
  /** Default 2 g/L. */
  readonly drySugarGPerL?: number
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

/** What a finished ferment teaches its cellar; feed the list of them to `cellarPace`. */
export function finishedFerment(input: FermentInput): FinishedFerment {
  const must = likelyMust(input)
  return { pace: must.pace, tail: must.tail, start: must.yeastGPerL / usualCells(input.yeast, input.yeastGPerHL) }
}

/** Course of a ferment with its 80 % band, from the must alone or corrected by readings. */
export function forecastFerment(input: FermentInput): FermentForecast {
  const { startH, must, fit, nowH, readings } = fitted(input)
  const likely = mustOf(must, fit.best)
  const untilH = startH + HORIZON_H
  const curve = fermentCurve(likely, untilH)
  const at = (hour: number) => sugarAt(curve, Math.max(startH, hour))
  const dryH = spanTo(must, fit, input.drySugarGPerL ?? DRY_G_PER_L, nowH, untilH)
  const endH = startH + 24 * Math.ceil(((dryH.latest ?? startH + 1440) - startH) / 24)
  const points = tempPoints(input.tempPlan)
  const band = bandAround(
    at,
    dryH,
    nowH,
    readings === 0 ? 0.03 * likely.sugarGPerL : NOISE_G_PER_L / Math.sqrt(readings),
  )
  const list = Array.from({ length: Math.floor((endH - startH) / POINT_EVERY_H) + 1 }, (_, k) => {
    const hour = startH + k * POINT_EVERY_H
    return { hour, sugarGPerL: at(hour), ...band(hour), tempC: tempAtHour(points, hour) }
  })
  const days = Math.ceil(((dryH.likely ?? endH) - startH) / 24)
  return {
    points: list,
    dryH,
    stopH: input.stopSugarGPerL === undefined ? undefined : spanTo(must, fit, input.stopSugarGPerL, nowH, untilH),
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

function fitted(input: FermentInput) {
  if ((input.brix === undefined) === (input.sugarGPerL === undefined))
    throw new RangeError(`brix is ${input.brix} and sugarGPerL is ${input.sugarGPerL}, expected one of the two`)
  if (!YEAST_KINDS.includes(input.yeast))
    throw new RangeError(`yeast is ${input.yeast}, expected one of ${YEAST_KINDS.join(', ')}`)
  const startH = input.startAtH ?? 0
  const sugarGPerL = within('sugarGPerL', input.sugarGPerL ?? sugarOfBrix(input.brix as number), 20, 390, 'g/L')
  within('drySugarGPerL', input.drySugarGPerL ?? DRY_G_PER_L, 0.5, 20, 'g/L')
  if (input.stopSugarGPerL !== undefined) within('stopSugarGPerL', input.stopSugarGPerL, 2, 390, 'g/L')
  const prior = priorOf(
    input.yeast,
    input.yeastGPerHL ?? 25,
    sugarGPerL,
    input.paceFactor ?? DEFAULT_PACE,
    input.cellar,
  )
  const must: Must = {
    sugarGPerL,
    yanMgPerL: within('yanMgPerL', input.yanMgPerL, 10, 1000, 'mg/L'),
    yeastGPerL: prior.yeastGPerL,
    tempPlan: input.tempPlan,
    startH,
    pace: prior.pace,
    tail: prior.tail,
  }
  const readings = (input.readings ?? []).map(checkReading)
  const fit = readings.length === 0 ? priorFit(prior) : fitReadings(must, prior, readings, NOISE_G_PER_L)
  return { startH, must, fit, nowH: Math.max(startH, ...readings.map((r) => r.hour)), readings: readings.length }
}

function checkReading(reading: SugarReading): SugarReading {
  if (!Number.isFinite(reading.hour)) throw new RangeError(`reading hour is ${reading.hour}, expected a number`)
  within('reading sugarGPerL', reading.sugarGPerL, -15, 400, 'g/L')
  return reading
}

/** The band of the curve: time still to go shrunk and stretched as the band of dryness says, and what is unsure today. */
function bandAround(at: (hour: number) => number, dry: Span, nowH: number, todayG: number) {
  const left = dry.likely === null ? 1 : Math.max(1, dry.likely - nowH)
  const faster = dry.earliest === null || dry.likely === null ? 1 : left / Math.max(1, dry.earliest - nowH)
  const slower = dry.latest === null || dry.likely === null ? 3 : Math.max(1, dry.latest - nowH) / left
  return (hour: number) => {
    const ahead = Math.max(0, hour - nowH)
    const likely = at(hour)
    // What is unsure today fades with the sugar itself.
    const today = Z80 * todayG * Math.min(1, likely / 20)
    const low = ahead === 0 ? 0 : likely - at(nowH + ahead * Math.max(1, faster))
    const high = ahead === 0 ? 0 : at(nowH + ahead / Math.max(1, slower)) - likely
    return { lowGPerL: Math.max(0, likely - Math.hypot(low, today)), highGPerL: likely + Math.hypot(high, today) }
  }
}
