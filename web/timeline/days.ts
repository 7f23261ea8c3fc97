/** The cellar's local days over the plan, laid out once; frames only search it. */
import { Temporal, wallTimeAt } from '../../api/time.ts'
import { HOUR_MS } from './scale.ts'

export interface Days {
  readonly zone: string
  readonly firstOn: Temporal.PlainDate
  /** Start of each local day; one more than there are days. A DST day is 23 or 25 hours long here. */
  readonly startMs: Float64Array
  /** ISO weekday 1 to 7, day of the month, month and year of each. */
  readonly weekday: Uint8Array
  readonly dayOfMonth: Uint8Array
  readonly month: Uint8Array
  readonly year: Uint16Array
}

export function layDays(fromMs: number, toMs: number, zone: string): Days {
  const firstOn = localDay(fromMs, zone)
  const lastOn = localDay(toMs, zone).add({ days: 1 })
  const count = firstOn.until(lastOn, { largestUnit: 'days' }).days
  const days: Days = {
    zone,
    firstOn,
    startMs: new Float64Array(count + 1),
    weekday: new Uint8Array(count + 1),
    dayOfMonth: new Uint8Array(count + 1),
    month: new Uint8Array(count + 1),
    year: new Uint16Array(count + 1),
  }
  let on = firstOn
  for (let i = 0; i <= count; i++) {
    // Not wall time 00:00: in some zones the spring gap falls on midnight, and a day starts when its first minute does.
    days.startMs[i] = on.toZonedDateTime(zone).epochMilliseconds
    days.weekday[i] = on.dayOfWeek
    days.dayOfMonth[i] = on.day
    days.month[i] = on.month
    days.year[i] = on.year
    on = on.add({ days: 1 })
  }
  return days
}

export const localDay = (atMs: number, zone: string): Temporal.PlainDate =>
  Temporal.Instant.fromEpochMilliseconds(Math.floor(atMs)).toZonedDateTimeISO(zone).toPlainDate()

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

export const dateOf = (days: Days, index: number): Temporal.PlainDate => days.firstOn.add({ days: index })

/** A wall-clock minute of a day of the table. Only the two odd days of a year need the slow way. */
export function wallMs(days: Days, index: number, minuteOfDay: number): number {
  const startMs = days.startMs[index] ?? 0
  const lengthMs = (days.startMs[index + 1] ?? startMs) - startMs
  if (lengthMs === 24 * HOUR_MS) return startMs + minuteOfDay * 60_000
  return wallTimeAt(dateOf(days, index), minuteOfDay, days.zone).epochMilliseconds
}

/** Minutes since the local midnight as a clock on the wall shows them. */
export function wallMinute(days: Days, atMs: number): number {
  const index = dayIndex(days, atMs)
  const startMs = days.startMs[index] ?? 0
  const lengthMs = (days.startMs[index + 1] ?? startMs) - startMs
  if (lengthMs === 24 * HOUR_MS) return (atMs - startMs) / 60_000
  const time = Temporal.Instant.fromEpochMilliseconds(Math.floor(atMs)).toZonedDateTimeISO(days.zone)
  return time.hour * 60 + time.minute + time.second / 60
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
