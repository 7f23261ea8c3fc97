/** What readings and reports show of a lot, before anybody plans from it: cases 11, 12, 14 and 19 of the practice. */
import { tempPoints } from '../../cellar/temperature.ts'
import type { Reading, TroubleKind } from '../facts.ts'
import { MALIC_GONE_G_PER_L, tempPlanOf } from '../forecast.ts'
import { DAY, isDone, minOf, type Setting } from '../setting.ts'
import { keyOf } from '../work.ts'

/** A drop of density that shows a start, kg/m3; the same that 96 h of watching wait for. Common practice. */
const START_DROP_KG_PER_M3 = 2
/** So far over the set point cooling is wanted now. Practice, change 9: hours until +3 C. */
const TOO_HOT_C = 3
/** "After 3 weeks without change": change 19 of the practice. */
export const STILL_WEEKS = 3
/** Two malic readings no further apart are the same. Repeatability of an enzymatic test, about; common practice. */
const SAME_MALIC_G_PER_L = 0.1

/** When juice was seen to ferment before yeast: as reported, or by a density that fell. Nothing once it is racked. */
export function startedItself(s: Setting, pressedMin: number): number | undefined {
  const before = (at: number) => at >= pressedMin && !rackedBy(s, at)
  const told = reportsOf(s, 'started').find(before)
  const densities = s.readings.filter((r) => r.kind === 'density' && before(minOf(s, r.takenAt)))
  const fell = densities.find((r, i) => i > 0 && densities[0]!.value - r.value >= START_DROP_KG_PER_M3)
  return told ?? (fell && minOf(s, fell.takenAt))
}

/** When settling juice was last reported cloudy. Nothing once it is racked. */
export const staysCloudy = (s: Setting, pressedMin: number): number | undefined =>
  reportsOf(s, 'cloudy').findLast((at) => at >= pressedMin && !rackedBy(s, at))

const reportsOf = (s: Setting, kind: TroubleKind): readonly number[] =>
  s.troubles.filter((t) => t.kind === kind).map((t) => minOf(s, t.at))

function rackedBy(s: Setting, atMin: number): boolean {
  const racked = s.ticks.get(keyOf(s, 'rack-juice'))?.done
  return racked !== undefined && minOf(s, racked.startAt ?? racked.at) <= atMin
}

/** Temperatures far over the set point while it ferments. */
export function hotReadings(s: Setting): readonly Reading[] {
  const yeastIn = ['inoculate', 'fill-barrels', 'destem-crush']
    .flatMap((step) => s.ticks.get(keyOf(s, step))?.done ?? [])
    .map((fact) => minOf(s, fact.at))[0]
  if (yeastIn === undefined || isDone(s, keyOf(s, 'check-dry'))) return []
  const most = Math.max(...tempPoints(tempPlanOf(s.choices)).map((p) => p.tempC)) + TOO_HOT_C
  return s.readings.filter(
    (r) => r.kind === 'temp' && r.value >= most && r.value <= 45 && minOf(s, r.takenAt) >= yeastIn,
  )
}

/** The reading that shows that malic has not moved for three weeks, with bacteria in. */
export function malicStill(s: Setting): Reading | undefined {
  const inMin = s.ticks.get(keyOf(s, 'mlf-inoculate'))?.done?.at
  if (!inMin || isDone(s, keyOf(s, 'mlf-done'))) return undefined
  const read = s.readings.filter(
    (r) =>
      r.kind === 'malic' && r.takenAt.epochMilliseconds >= inMin.epochMilliseconds && r.value >= MALIC_GONE_G_PER_L,
  )
  const last = read.at(-1)
  const moves = (since: Reading) => Math.abs(since.value - last!.value) > SAME_MALIC_G_PER_L
  const from = read.findLastIndex(moves) + 1
  return read.slice(from).find((r) => minOf(s, r.takenAt) - minOf(s, read[from]!.takenAt) >= STILL_WEEKS * 7 * DAY)
}
