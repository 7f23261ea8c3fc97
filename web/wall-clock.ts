/**
 * Moments and the cellar's wall clock, told by the browser's own calendar or, where it has none, its formats: the floor opens without the weight of a
 * whole calendar library. Held against that library by a property test.
 */

const FIELDS = { year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit' } as const

const clocks = new Map<string, Intl.DateTimeFormat>()

function clockOf(zone: string): Intl.DateTimeFormat {
  const known = clocks.get(zone)
  if (known) return known
  const made = new Intl.DateTimeFormat('en-US', {
    ...FIELDS,
    second: '2-digit',
    hourCycle: 'h23',
    timeZone: zone,
    calendar: 'gregory',
    numberingSystem: 'latn',
  })
  clocks.set(zone, made)
  return made
}

/** The part of a browser's own calendar that is asked here, where it has one. */
interface Calendar {
  readonly Instant: {
    readonly fromEpochMilliseconds: (ms: number) => {
      readonly toZonedDateTimeISO: (zone: string) => { readonly offsetNanoseconds: number }
    }
  }
}
const calendar = (): Calendar | undefined => (globalThis as { readonly Temporal?: Calendar }).Temporal

/** What the wall clock shows, written as if it were UTC, ms; whole seconds. */
export function shownMs(ms: number, zone: string): number {
  const own = calendar()
  if (!own) return shownByFormat(ms, zone)
  // Making the first format takes a phone a tenth of a second; this takes nothing.
  const wholeMs = Math.floor(ms / 1000) * 1000
  return wholeMs + own.Instant.fromEpochMilliseconds(wholeMs).toZonedDateTimeISO(zone).offsetNanoseconds / 1e6
}

function shownByFormat(ms: number, zone: string): number {
  const parts: Partial<Record<string, number>> = {}
  for (const { type, value } of clockOf(zone).formatToParts(ms)) parts[type] = Number(value)
  const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = parts
  return Date.UTC(year, month - 1, day, hour, minute, second)
}

const DAY_MS = 86_400_000

/** The first moment at which the clock shows it; where the clock skips it, as far after the skip as it was meant after its start. */
export function momentMs(wantedMs: number, zone: string): number {
  const offsetMs = (at: number) => shownMs(at, zone) - Math.floor(at / 1000) * 1000
  const before = wantedMs - offsetMs(wantedMs - DAY_MS)
  const after = wantedMs - offsetMs(wantedMs + DAY_MS)
  const shows = [before, after].filter((ms) => shownMs(ms, zone) === wantedMs)
  return shows.length > 0 ? Math.min(...shows) : before
}

const iso = (ms: number): string => {
  const text = new Date(ms).toISOString()
  return text.endsWith('.000Z') ? `${text.slice(0, -5)}Z` : text
}

/** @throws RangeError for what is no moment with its offset */
export function msOf(moment: string | number): number {
  if (typeof moment === 'number') return moment
  const ms = /(Z|[+-]\d{2}:?\d{2})$/.test(moment) ? Date.parse(moment) : Number.NaN
  if (Number.isNaN(ms)) throw new RangeError(`expected a moment such as 2027-03-22T08:00:00Z, got ${moment}`)
  return ms
}

/** The cellar's day, `2027-03-22`. */
export const dayOf = (moment: string | number, zone: string): string => iso(shownMs(msOf(moment), zone)).slice(0, 10)

const utcOf = (wall: string): number => {
  const ms = Date.parse(`${wall.length === 10 ? `${wall}T00:00` : wall}Z`)
  if (Number.isNaN(ms)) throw new RangeError(`expected a day or a wall-clock time, got ${wall}`)
  return ms
}

export const addDays = (on: string, days: number): string => iso(utcOf(on) + days * DAY_MS).slice(0, 10)

/** First moment of a cellar day; not always midnight where clocks change. */
export const startOfDay = (on: string, zone: string): string => iso(momentMs(utcOf(on), zone))

/** A wall-clock time of the cellar as a moment, and back, for inputs of type datetime-local. */
export const momentOfWall = (wall: string, zone: string): string => iso(momentMs(utcOf(wall), zone))
export const wallOfMoment = (moment: string | number, zone: string): string =>
  iso(shownMs(msOf(moment), zone)).slice(0, 16)

export const noonOf = (on: string, zone: string): number => momentMs(utcOf(`${on}T12:00`), zone)
