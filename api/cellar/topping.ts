import { within } from './guard.ts'
import { relativeSurface } from './wood.ts'

/**
 * Yearly loss of a barrel to the air. Anchors for 227 L: cave 3.8 L (1.7 %), surface warehouse 15.1 L (6.7 %); straight line
 * between 85 % and 57.5 % humidity at 13 C; smaller barrels lose more, (225/V)^(1/3). Warmth enters as the vapour pressure of
 * water (Magnus), our estimate. Measured range 1-9 % a year, average 4-5.
 */
export function evaporationPctPerYear(humidityPct: number, tempC: number, volumeL = 225): number {
  within('humidityPct', humidityPct, 30, 100, '%')
  within('tempC', tempC, 2, 30, 'C')
  const dryness = Math.max(0, 85 - humidityPct) / (85 - 57.5)
  const at13C = CAVE_PCT + (WAREHOUSE_PCT - CAVE_PCT) * dryness
  return at13C * (vapourPressure(tempC) / vapourPressure(13)) * relativeSurface(volumeL)
}

const CAVE_PCT = (100 * 3.785) / 227
const WAREHOUSE_PCT = (100 * 15.14) / 227

/** hPa, Magnus form. */
const vapourPressure = (tempC: number): number => 6.112 * Math.exp((17.62 * tempC) / (243.12 + tempC))

export interface ToppingPlan {
  readonly lossPctPerYear: number
  readonly perBarrelL: number
  readonly totalL: number
  readonly perYearL: number
}

/** Wine to bring at each topping of a row. */
export function toppingPlan(
  barrels: number,
  barrelL: number,
  humidityPct: number,
  tempC: number,
  intervalDays: number,
): ToppingPlan {
  within('barrels', barrels, 0, 10_000)
  within('intervalDays', intervalDays, 1, 120, 'd')
  const lossPctPerYear = evaporationPctPerYear(humidityPct, tempC, barrelL)
  const yearL = (lossPctPerYear / 100) * barrelL
  const perBarrelL = (yearL * intervalDays) / 365
  return { lossPctPerYear, perBarrelL, totalL: perBarrelL * barrels, perYearL: yearL * barrels }
}

/** Days between toppings so that a barrel never lacks more than this; weekly in the first month, then at most three weeks. */
export function toppingIntervalDays(
  humidityPct: number,
  tempC: number,
  barrelL: number,
  weekSinceFill: number,
  lackL = 0.7,
): number {
  within('weekSinceFill', weekSinceFill, 0, 200, 'weeks')
  within('lackL', lackL, 0.1, 5, 'L')
  if (weekSinceFill < 4) return 7
  const perDayL = ((evaporationPctPerYear(humidityPct, tempC, barrelL) / 100) * barrelL) / 365
  return Math.max(7, Math.min(21, Math.floor(lackL / perDayL)))
}

/** Dry air takes water and alcohol rises; damp air takes alcohol. Turning point about 65-70 %: from memory, verify. */
export function alcoholTrend(humidityPct: number): 'rises' | 'stays' | 'falls' {
  within('humidityPct', humidityPct, 30, 100, '%')
  if (humidityPct < 65) return 'rises'
  return humidityPct > 70 ? 'falls' : 'stays'
}
