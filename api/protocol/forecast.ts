import { potentialAlcoholPctVol } from '../cellar/alcohol.ts'
import { sugarLeft, sugarLeftOfBrix } from '../cellar/apparent.ts'
import type { CellarPace, FinishedFerment } from '../cellar/ferment-prior.ts'
import { type FermentForecast, type FermentInput, finishedFerment, forecastFerment } from '../cellar/fermentation.ts'
import { malolacticWeeks } from '../cellar/malolactic.ts'
import { densityOfBrix, sugarOfBrix } from '../cellar/sugar.ts'
import { type TempPlan, tempAtHour, tempPoints } from '../cellar/temperature.ts'
import type { Choices } from './choices.ts'
import type { Reading } from './facts.ts'
import { DAY, HOUR, latest, minOf, type Setting, wallNear } from './setting.ts'

/** Below this a ferment counts as dry: glucose and fructose, g/L. Common practice 2-4. */
export const DRY_G_PER_L = 4
/** Density of a dry white wine, kg/m3. Common practice: under 995 and flat for two days. */
export const DRY_DENSITY = 995
/** Above it there is sugar left, whatever the instrument. Common practice. */
const FERMENTING_DENSITY = 1000
/** Malic acid is gone under this, g/L (S48). */
export const MALIC_GONE_G_PER_L = 0.1

const WATER_KG_PER_M3 = 998.2

/** When nothing tells how long: common practice. */
const UNKNOWN_DRY_DAYS = 35

/** Hours count from when the yeast is in. `cellar`: what its finished ferments taught. */
export function fermentOf(s: Setting, startedMin: number | undefined, cellar?: CellarPace): FermentForecast {
  return forecastFerment({ ...fermentInput(s, startedMin), ...(cellar === undefined ? {} : { cellar }) })
}

/** What a ferment that readings call dry teaches the others; nothing from fewer than four sugar readings. */
export function finishedOf(s: Setting, startedMin: number): FinishedFerment | undefined {
  const input = fermentInput(s, startedMin)
  return dryByReadings(s) === undefined || (input.readings?.length ?? 0) < 4 ? undefined : finishedFerment(input)
}

function fermentInput(s: Setting, startedMin: number | undefined): FermentInput {
  const c = s.choices
  const { fruit } = s
  const brix = Math.min(44, Math.max(8, fruit.brix))
  return {
    sugarGPerL: startSugarGPerL(s),
    yanMgPerL: Math.min(600, Math.max(40, fruit.yanMgPerL, c.nutrientTargetMgPerL)),
    yeast: c.yeast,
    yeastGPerHL: c.yeastGPerHL,
    tempPlan: startedMin === undefined ? tempPlanOf(c) : tempCourse(s, startedMin),
    drySugarGPerL: DRY_G_PER_L,
    ...(c.stopSugarGPerL === undefined ? {} : { stopSugarGPerL: c.stopSugarGPerL }),
    ...(startedMin === undefined ? {} : { readings: sugarReadings(s, startedMin, brix) }),
  }
}

/** As measured so far, as chosen from the last reading on. */
function tempCourse(s: Setting, startedMin: number): TempPlan {
  const chosen = tempPoints(tempPlanOf(s.choices))
  const read = s.readings.flatMap((r) => {
    const hour = (minOf(s, r.takenAt) - startedMin) / HOUR
    return r.kind === 'temp' && hour >= 0 && r.value >= 4 && r.value <= 40 ? [{ hour, tempC: r.value }] : []
  })
  const lastH = read.at(-1)?.hour
  if (lastH === undefined) return chosen
  return [...read, { hour: lastH, tempC: tempAtHour(chosen, lastH) }, ...chosen.filter((p) => p.hour > lastH)]
}

/** Fermentable sugar of the fruit, inside what the course of a ferment is known for. */
export const startSugarGPerL = (s: Setting): number =>
  Math.min(MOST_SUGAR_G_PER_L, sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix))))

/** The course is followed up to 400 g/L; a little less, because its band is felt out above it. */
const MOST_SUGAR_G_PER_L = 380

/** Tanks ferment at their set point and are let warm for the tail. */
export function tempPlanOf(c: Choices): TempPlan {
  if (c.fermentEndTempC === undefined || c.fermentEndTempC === c.fermentTempC) return c.fermentTempC
  return [
    { hour: 0, tempC: c.fermentTempC },
    { hour: 9 * 24, tempC: c.fermentTempC },
    { hour: 12 * 24, tempC: c.fermentEndTempC },
  ]
}

function sugarReadings(s: Setting, startedMin: number, brix: number): { hour: number; sugarGPerL: number }[] {
  return s.readings.flatMap((r) => {
    const hour = (minOf(s, r.takenAt) - startedMin) / HOUR
    const sugarGPerL = sugarOf(r, brix)
    return hour < 0 || sugarGPerL === undefined ? [] : [{ hour, sugarGPerL }]
  })
}

/** Sugar left as an instrument shows it; a figure the must cannot have is left out. */
export function sugarOf(r: Reading, startBrix: number): number | undefined {
  const must = { startBrix }
  try {
    if (r.kind === 'sugar' || r.kind === 'glucose-fructose') return r.value >= 0 && r.value <= 400 ? r.value : undefined
    if (r.kind === 'density') return Math.max(0, sugarLeft(must, r.value / WATER_KG_PER_M3).sugarGPerL)
    if (r.kind === 'brix') return Math.max(0, sugarLeftOfBrix(must, r.value).sugarGPerL)
  } catch {
    return undefined
  }
  return undefined
}

/** Earliest, likely and latest of a moment, minutes from plan start. */
export interface When {
  readonly earliestMin: number
  readonly likelyMin: number
  readonly latestMin: number
  /** A reading or a check has settled it. */
  readonly known: boolean
}

/** When it is dry: by check, by two readings a day apart, or by forecast, never before now. */
export function dryWhen(s: Setting, ferment: FermentForecast, startMin: number): When {
  const read = dryByReadings(s)
  if (read !== undefined) return { earliestMin: read, likelyMin: read, latestMin: read, known: true }
  return fromSpan(s, ferment.dryH, startMin)
}

export function stopWhen(s: Setting, ferment: FermentForecast, startMin: number): When {
  return fromSpan(s, ferment.stopH ?? ferment.dryH, startMin)
}

function fromSpan(s: Setting, span: FermentForecast['dryH'], startMin: number): When {
  const at = (hour: number | null, usualDays: number) =>
    Math.max(s.nowMin, Math.round(startMin + (hour === null ? usualDays * DAY : hour * HOUR)))
  const likelyMin = at(span.likely, UNKNOWN_DRY_DAYS)
  return {
    earliestMin: Math.min(likelyMin, at(span.earliest, UNKNOWN_DRY_DAYS * 0.7)),
    likelyMin,
    latestMin: Math.max(likelyMin, Math.min(at(span.latest, UNKNOWN_DRY_DAYS * 2), likelyMin + 60 * DAY)),
    known: false,
  }
}

/** Two readings under the limit at least 24 h apart, with none above between them. */
export function dryByReadings(s: Setting): number | undefined {
  let first: number | undefined
  for (const r of s.readings) {
    const dry = isDryReading(r)
    if (dry === undefined) continue
    const at = minOf(s, r.takenAt)
    if (!dry) first = undefined
    else if (first === undefined) first = at
    else if (at - first >= DAY - 30) return at
  }
  return undefined
}

function isDryReading(r: Reading): boolean | undefined {
  if (r.kind === 'glucose-fructose' || r.kind === 'sugar') return r.value <= DRY_G_PER_L
  if (r.kind === 'brix') return isDryBrix(r.value)
  return r.kind === 'density' ? r.value < DRY_DENSITY : undefined
}

/** A hydrometer in Brix is coarse near the end: between dry and still fermenting it says nothing. */
function isDryBrix(brix: number): boolean | undefined {
  if (brix < -5 || brix > 45) return undefined
  const density = densityOfBrix(brix)
  if (density < DRY_DENSITY) return true
  return density > FERMENTING_DENSITY ? false : undefined
}

/** Hour at which this much sugar is left, along the likely course. */
export function hourAt(ferment: FermentForecast, sugarGPerL: number): number | undefined {
  return ferment.points.find((p) => p.sugarGPerL <= sugarGPerL)?.hour
}

/** Malic gone: by reading, else by the feasibility card from when the bacteria are in, never before now. */
export function malicGoneWhen(s: Setting, fromMin: number, bacteria: 'added' | 'wild'): When {
  const read = malicGoneByReading(s)
  if (read !== undefined) return { earliestMin: read, likelyMin: read, latestMin: read, known: true }
  const c = s.choices
  const sugar = sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix)))
  const left = c.endPoint === 'stop' ? (c.stopSugarGPerL ?? 0) : 0
  const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value))
  const weeks = malolacticWeeks(
    {
      alcoholPctVol: clamp(potentialAlcoholPctVol(Math.max(20, sugar - left)), 5, 20),
      pH: clamp(s.fruit.pH, 2.8, 4.2),
      freeSo2MgPerL: clamp(latest(s, 'free-so2')?.value ?? 2, 0, 200),
      totalSo2MgPerL: clamp(latest(s, 'total-so2')?.value ?? c.so2CrushMgPerL * 0.7, 0, 500),
      tempC: clamp(Math.max(18, Math.min(20, c.maturationC)), 10, 30),
      malicGPerL: clamp(latest(s, 'malic')?.value ?? s.fruit.malicGPerL, 0.1, 15),
    },
    bacteria,
  )
  // To the morning: weeks are not known to the hour, and a plan made anew should not move for minutes.
  const at = (w: number) => Math.max(s.nowMin, wallNear(s, fromMin + Math.min(w, 30) * 7 * DAY, 0, 8 * HOUR))
  return { earliestMin: at(weeks.earliest), likelyMin: at(weeks.likely), latestMin: at(weeks.latest), known: false }
}

export function malicGoneByReading(s: Setting): number | undefined {
  // Parted by vessel, some go all the way; parted in one vessel, a share is left.
  const byVessel = s.choices.vesselParts?.some((p) => p.malolactic !== undefined) ?? false
  const wanted = s.choices.malolactic === 'partial' && !byVessel ? partialLeft(s) : MALIC_GONE_G_PER_L
  const read = s.readings.find((r) => r.kind === 'malic' && r.value < wanted && !isJuice(r))
  return read && minOf(s, read.takenAt)
}

/** A part of the wine goes through; the rest keeps its malic. */
const partialLeft = (s: Setting): number =>
  Math.max(MALIC_GONE_G_PER_L, s.fruit.malicGPerL * (1 - (s.choices.malolacticShare ?? 1)) + MALIC_GONE_G_PER_L)

const isJuice = (r: Reading): boolean => /\/(sample-block|receive|inspect-fruit|juice-panel)\//.test(r.taskKey ?? '')
