/** The cellar's local days over the plan, laid out once; frames only search it. */
import { momentMs, shownMs } from '../wall-clock.ts'
import { DAY_MS, HOUR_MS } from './scale.ts'

export interface Days {
  readonly zone: string
  /** Start of each local day; one more than there are days. A DST day is 23 or 25 hours long here. */
  readonly startMs: Float64Array
  /** ISO weekday 1 to 7, day of the month, month and year of each. */
  readonly weekday: Uint8Array
  readonly dayOfMonth: Uint8Array
  readonly month: Uint8Array
  readonly year: Uint16Array
}

export function layDays(fromMs: number, toMs: number, zone: string): Days {
  const firstUtc = startOfUtcDay(shownMs(fromMs, zone))
  const count = (startOfUtcDay(shownMs(toMs, zone)) - firstUtc) / DAY_MS + 1
  const stretches = offsetStretches(firstUtc - 2 * DAY_MS, firstUtc + (count + 2) * DAY_MS, zone)
  const days: Days = {
    zone,
    startMs: new Float64Array(count + 1),
    weekday: new Uint8Array(count + 1),
    dayOfMonth: new Uint8Array(count + 1),
    month: new Uint8Array(count + 1),
    year: new Uint16Array(count + 1),
  }
  let at = 0
  for (let i = 0; i <= count; i++) {
    const midnight = firstUtc + i * DAY_MS
    // A stretch ends when its clock is set: the first whose clock shows this midnight, or has passed it already.
    while (at + 1 < stretches.length && midnight - offsetOf(stretches, at) >= startOf(stretches, at + 1)) at += 1
    // In some zones the spring gap falls on midnight, and a day starts when its first minute does.
    days.startMs[i] = Math.max(midnight - offsetOf(stretches, at), startOf(stretches, at))
    const on = new Date(midnight)
    days.weekday[i] = on.getUTCDay() || 7
    days.dayOfMonth[i] = on.getUTCDate()
    days.month[i] = on.getUTCMonth() + 1
    days.year[i] = on.getUTCFullYear()
  }
  return days
}

const startOfUtcDay = (ms: number): number => Math.floor(ms / DAY_MS) * DAY_MS

/** A time with one offset from UTC, and when it begins. */
type Stretch = readonly [fromMs: number, offsetMs: number]

const startOf = (stretches: readonly Stretch[], at: number): number => (stretches[at] as Stretch)[0]
const offsetOf = (stretches: readonly Stretch[], at: number): number => (stretches[at] as Stretch)[1]

/** A week between looks: no zone sets its clock forth and back within one, and a day for each would be seven times as dear. */
const LOOK_MS = 7 * DAY_MS

/** Whole years are asked of the browser's calendar some hundred times instead of once a day. */
function offsetStretches(fromMs: number, toMs: number, zone: string): readonly Stretch[] {
  const offsetAt = (ms: number) => shownMs(ms, zone) - ms
  const stretches: Stretch[] = [[Number.NEGATIVE_INFINITY, offsetAt(fromMs)]]
  for (let ms = fromMs; ms < toMs; ms += LOOK_MS) {
    const known = offsetOf(stretches, stretches.length - 1)
    const next = offsetAt(ms + LOOK_MS)
    if (next !== known) stretches.push([changeBetween(ms, ms + LOOK_MS, known, offsetAt), next])
  }
  return stretches
}

/** The first second at which the offset is no longer what it was. */
function changeBetween(fromMs: number, toMs: number, knownMs: number, offsetAt: (ms: number) => number): number {
  let low = fromMs / 1000
  let high = toMs / 1000
  while (high - low > 1) {
    const mid = Math.floor((low + high) / 2)
    if (offsetAt(mid * 1000) === knownMs) low = mid
    else high = mid
  }
  return high * 1000
}

export const dayCount = (days: Days): number => days.startMs.length - 1

/** Which day of the table holds a moment; clamped to its ends. */
export function dayIndex(days: Days, atMs: number): number {
  const { startMs } = days
  let low = 0
  let high = startMs.length - 1
  while (low < high) {
    const mid = (low + high) >> 1
    if ((startMs[mid] ?? 0) <= atMs) low = mid + 1
    else high = mid
  }
  return Math.max(0, Math.min(startMs.length - 2, low - 1))
}

/** ISO date of a day of the table, put together from its numbers: asked for every person on every day. */
export function isoOf(days: Days, index: number): string {
  const two = (n: number) => (n < 10 ? `0${n}` : String(n))
  return `${days.year[index]}-${two(days.month[index] as number)}-${two(days.dayOfMonth[index] as number)}`
}

/** Which day of the table has a date, `2027-03-22`; before its first day it is negative. */
export const indexOn = (days: Days, on: string): number =>
  Math.round((Date.parse(on) - Date.parse(isoOf(days, 0))) / DAY_MS)

/** A wall-clock minute of a day of the table. Only the two odd days of a year need the slow way. */
export function wallMs(days: Days, index: number, minuteOfDay: number): number {
  const startMs = days.startMs[index] ?? 0
  const lengthMs = (days.startMs[index + 1] ?? startMs) - startMs
  if (lengthMs === 24 * HOUR_MS) return startMs + minuteOfDay * 60_000
  return momentMs(Date.parse(isoOf(days, index)) + minuteOfDay * 60_000, days.zone)
}

/** Minutes since the local midnight as a clock on the wall shows them. */
export function wallMinute(days: Days, atMs: number): number {
  const index = dayIndex(days, atMs)
  const startMs = days.startMs[index] ?? 0
  const lengthMs = (days.startMs[index + 1] ?? startMs) - startMs
  if (lengthMs === 24 * HOUR_MS) return (atMs - startMs) / 60_000
  return (((shownMs(atMs, days.zone) % DAY_MS) + DAY_MS) % DAY_MS) / 60_000
}

/** The nearest moment whose wall clock is a multiple of `stepMin` minutes. */
export function snapMs(days: Days, atMs: number, stepMin: number): number {
  const index = dayIndex(days, atMs)
  const minute = wallMinute(days, atMs)
  const low = Math.floor(minute / stepMin) * stepMin
  const around = [low, low + stepMin].map((m) => (m >= 1440 ? (days.startMs[index + 1] ?? 0) : wallMs(days, index, m)))
  // In the repeated hour the wall clock names two moments; the elapsed grid from the day's start has both.
  const startMs = days.startMs[index] ?? 0
  const stepMs = stepMin * 60_000
  if ((days.startMs[index + 1] ?? 0) - startMs !== 24 * HOUR_MS)
    around.push(startMs + Math.round((atMs - startMs) / stepMs) * stepMs)
  return around.reduce((best, ms) => (Math.abs(ms - atMs) < Math.abs(best - atMs) ? ms : best))
}
