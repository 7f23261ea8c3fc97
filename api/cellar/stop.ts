import { fermentCurve, hourAtSugar, sugarAt } from './ferment-curve.ts'
import { chillHours, type FermentInput, likelyMust } from './fermentation.ts'
import { positive, within } from './guard.ts'
import { type TempPoint, tempAtHour, tempPoints } from './temperature.ts'

export interface StopInput extends FermentInput {
  readonly stopSugarGPerL: number
  readonly volumeL: number
  /** Cooling given to this tank. */
  readonly powerKW: number
  /** Where yeast stands still: -2 to 4 C; SO2 and filtration must follow (S59). */
  readonly coldC: number
}

export interface StopPlan {
  readonly chillH: number
  readonly startH: number
  readonly coldAtH: number
  /** Sugar at which the chilling must begin, by the model that slows as it cools. */
  readonly startAtSugarGPerL: number
  /** Simple rule of the cellar: target + rate x hours to cold. On the safe side. */
  readonly safeStartGPerL: number
  readonly steps: readonly string[]
}

/**
 * When to begin chilling so that the wine is cold at its sugar. Null when the ferment never comes down to it. Yeast slows while
 * the wine cools, so the model begins later than the simple rule; begin at the simple rule when in doubt.
 */
export function stopPlan(input: StopInput): StopPlan | null {
  positive('volumeL', input.volumeL, 'L')
  positive('powerKW', input.powerKW, 'kW')
  within('coldC', input.coldC, -6, 8, 'C')
  within('stopSugarGPerL', input.stopSugarGPerL, 2, 250, 'g/L')
  const must = likelyMust(input)
  const untilH = must.startH + 2400
  const free = fermentCurve(must, untilH)
  const freeH = hourAtSugar(free, input.stopSugarGPerL)
  if (freeH === null) return null
  const points = tempPoints(input.tempPlan)
  const chillFrom = (hour: number) =>
    chillHours(input.volumeL, Math.max(0, tempAtHour(points, hour) - input.coldC), input.powerKW)
  const sugarWhenCold = (hour: number) => {
    const hours = chillFrom(hour)
    const curve = fermentCurve({ ...must, tempPlan: cooled(points, hour, hours, input.coldC) }, hour + hours + 1)
    return sugarAt(curve, hour + hours)
  }
  let low = must.startH
  let high = freeH
  for (let i = 0; i < 30; i++) {
    const mid = (low + high) / 2
    if (sugarWhenCold(mid) > input.stopSugarGPerL) low = mid
    else high = mid
  }
  const chillH = chillFrom(low)
  const rate = (sugarAt(free, freeH - 12) - sugarAt(free, freeH + 12)) / 24
  const startAtSugarGPerL = sugarAt(free, low)
  const safeStartGPerL = input.stopSugarGPerL + rate * chillH
  return {
    chillH,
    startH: low,
    coldAtH: low + chillH,
    startAtSugarGPerL,
    safeStartGPerL,
    steps: [
      `${input.volumeL} L x 1.08 x 3.6 x ${(tempAtHour(points, low) - input.coldC).toFixed(1)} K / (3600 x ${input.powerKW} kW) = ${chillH.toFixed(1)} h of chilling`,
      `fall near the target ${(24 * rate).toFixed(1)} g/L a day: simple rule begins at ${safeStartGPerL.toFixed(0)} g/L`,
      `with the yeast slowing as it cools: begin at ${startAtSugarGPerL.toFixed(0)} g/L`,
    ],
  }
}

/** The plan up to an hour, then a straight line down to the cold. */
function cooled(points: readonly TempPoint[], hour: number, hours: number, coldC: number): readonly TempPoint[] {
  return [
    ...points.filter((p) => p.hour < hour),
    { hour, tempC: tempAtHour(points, hour) },
    { hour: hour + hours, tempC: coldC },
  ].map((p) => ({ ...p, tempC: Math.max(0, p.tempC) }))
}
