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
  if (Number.isInteger(minuteOfDay) && minuteOfDay >= 0 && minuteOfDay < 1440) {
    const { startMs, lengthMs } = localDay(on, zone)
    if (lengthMs === DAY_MS) return Temporal.Instant.fromEpochMilliseconds(startMs + minuteOfDay * 60_000)
  }
  return slowWallTimeAt(on, minuteOfDay, zone)
}

function slowWallTimeAt(on: Temporal.PlainDate, minuteOfDay: number, zone: string): Temporal.Instant {
  const day = on.add({ days: Math.floor(minuteOfDay / 1440) })
  const rest = ((minuteOfDay % 1440) + 1440) % 1440
  const time = Temporal.PlainTime.from({
    hour: Math.floor(rest / 60),
    minute: rest % 60,
  })
  return day.toZonedDateTime({ timeZone: zone, plainTime: time }).toInstant()
}

/** A moment as it travels, `2027-03-22T05:00:00Z`: as the calendar library writes it, at a tenth of its time. */
export function isoOf(epochMs: number): string {
  const text = new Date(epochMs).toISOString()
  return text.endsWith('.000Z') ? `${text.slice(0, -5)}Z` : text.replace(/0+Z$/, 'Z')
}

/** The cellar's local day of a moment. */
export function dayOf(at: Temporal.Instant, zone: string): Temporal.PlainDate {
  const quarter = Math.floor(at.epochMilliseconds / QUARTER_MS)
  if (quarter < QUARTERS_FROM) return at.toZonedDateTimeISO(zone).toPlainDate()
  return remembered(days, `${zone} ${quarter}`, () => at.toZonedDateTimeISO(zone).toPlainDate())
}

const DAY_MS = 86_400_000
/** Since 1973 every zone's offset is a whole number of quarters of an hour, so a quarter lies in one local day. */
const QUARTER_MS = 900_000
const QUARTERS_FROM = Date.UTC(1973, 0, 1) / QUARTER_MS

interface LocalDay {
  readonly startMs: number
  /** 24 h, but for the days on which the clock is changed. */
  readonly lengthMs: number
}

// A vintage asks for the same few hundred days over and over, and the calendar library takes 10 us for each.
const localDays = new Map<string, LocalDay>()
const days = new Map<string, Temporal.PlainDate>()
const MOST_REMEMBERED = 50_000

function localDay(on: Temporal.PlainDate, zone: string): LocalDay {
  return remembered(localDays, `${zone} ${on}`, () => {
    const startMs = slowWallTimeAt(on, 0, zone).epochMilliseconds
    return { startMs, lengthMs: slowWallTimeAt(on, 1440, zone).epochMilliseconds - startMs }
  })
}

function remembered<T>(known: Map<string, T>, key: string, make: () => T): T {
  const found = known.get(key)
  if (found !== undefined) return found
  if (known.size >= MOST_REMEMBERED) known.clear()
  const made = make()
  known.set(key, made)
  return made
}
