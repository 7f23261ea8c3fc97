import { Temporal } from 'temporal-polyfill'

export { Temporal }

/** Minutes from plan start to a moment, rounded down. The planner counts in these. */
export function minutesFrom(startAt: Temporal.Instant, at: Temporal.Instant): number {
  return Math.floor((at.epochMilliseconds - startAt.epochMilliseconds) / 60_000)
}

/** The moment that lies `min` whole minutes after plan start. */
export function momentAt(startAt: Temporal.Instant, min: number): Temporal.Instant {
  return Temporal.Instant.fromEpochMilliseconds(startAt.epochMilliseconds + min * 60_000)
}

/**
 * The moment of a wall-clock time on a day in the cellar's zone.
 * A time inside the spring gap moves forward to the first minute that exists;
 * a repeated autumn time is the first of the two (the zone's 'compatible' rule, RFC 5545 section 3.3.5).
 */
export function wallTimeAt(on: Temporal.PlainDate, minuteOfDay: number, zone: string): Temporal.Instant {
  const day = on.add({ days: Math.floor(minuteOfDay / 1440) })
  const rest = ((minuteOfDay % 1440) + 1440) % 1440
  const time = Temporal.PlainTime.from({
    hour: Math.floor(rest / 60),
    minute: rest % 60,
  })
  return day.toZonedDateTime({ timeZone: zone, plainTime: time }).toInstant()
}

/** The cellar's local day of a moment. */
export function dayOf(at: Temporal.Instant, zone: string): Temporal.PlainDate {
  return at.toZonedDateTimeISO(zone).toPlainDate()
}
