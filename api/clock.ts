import { Temporal, wallTimeAt } from './time.ts'

/** The clock the app is given. */
export type Now = () => Temporal.Instant

/** The world's clock. */
export const realClock: Now = () => Temporal.Instant.fromEpochMilliseconds(Date.now())

/** When the invented cellar's day begins: before the first shift is an hour and a half old. */
const DAY_BEGINS_MIN = 6 * 60 + 30

/** A clock that stands at half past six on a day of the cellar when the server starts, and runs on from there. */
export function clockFrom(on: Temporal.PlainDate, zone: string, real: Now = realClock): Now {
  const startMs = wallTimeAt(on, DAY_BEGINS_MIN, zone).epochMilliseconds
  const sinceMs = real().epochMilliseconds
  return () => Temporal.Instant.fromEpochMilliseconds(startMs + real().epochMilliseconds - sinceMs)
}
