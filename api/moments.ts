/** Moments as people tell them: UTC from a screen, or wall-clock time of the cellar from a form or a table. */
import { fieldProblem } from './problem.ts'
import { no, ok, type Result } from './result.ts'
import { Temporal } from './time.ts'

/**
 * The moment of a time on the cellar's clock. A time the clock never shows (the spring gap) is refused instead of
 * moved: the person must say which hour is meant. A time shown twice (autumn) is the first of the two.
 */
export function wallMoment(text: string, zone: string): Result<Temporal.Instant, 'no-time' | 'gap'> {
  const wall = parsed(text)
  if (!wall) return no('no-time')
  const zoned = wall.toZonedDateTime(zone, { disambiguation: 'compatible' })
  if (!zoned.toPlainDateTime().equals(wall)) return no('gap')
  return ok(zoned.toInstant())
}

function parsed(text: string): Temporal.PlainDateTime | undefined {
  try {
    return Temporal.PlainDateTime.from(text)
  } catch {
    return undefined
  }
}

export const GAP_WORDS = (text: string, zone: string) =>
  `${text} does not exist in ${zone}: the clock skips that hour on this day. Say an hour before or after`

interface Told {
  readonly utc?: string | undefined
  readonly local?: string | undefined
}

/** The moment told in one of two fields, or undefined where neither was. @throws a problem at the field */
export function toldAt(told: Told, zone: string, pointer: string): Temporal.Instant | undefined {
  if (told.utc !== undefined && told.local !== undefined) {
    throw fieldProblem(pointer, 'is given twice: as UTC and as local time. Give one')
  }
  if (told.utc !== undefined) return Temporal.Instant.from(told.utc)
  if (told.local === undefined) return undefined
  const at = wallMoment(told.local, zone)
  if (at.ok) return at.value
  throw fieldProblem(
    `${pointer}Local`,
    at.why === 'gap' ? GAP_WORDS(told.local, zone) : 'must be a local time such as 2027-03-22T08:00',
  )
}

/** Clocks of phones differ: a fact may lie this far ahead of ours. */
const AHEAD_MIN = 5

/** Something that has happened cannot lie in the future. */
export function refuseFuture(at: Temporal.Instant, nowAt: Temporal.Instant, pointer: string): void {
  if (at.epochMilliseconds > nowAt.epochMilliseconds + AHEAD_MIN * 60_000) {
    throw fieldProblem(pointer, 'must not lie in the future: check the day and the hour')
  }
}

/** A plan spans what it is told of: a slip in the year would make it span centuries. */
const YEARS_BACK = 3
const YEARS_ON = 4

const years = (count: number) => count * 366 * 24

export function refuseFar(at: Temporal.Instant, nowAt: Temporal.Instant, pointer: string): void {
  const words = farWords(at, nowAt)
  if (words) throw fieldProblem(pointer, words)
}

/** Why a moment is out of all proportion, or undefined. */
export function farWords(at: Temporal.Instant, nowAt: Temporal.Instant): string | undefined {
  if (Temporal.Instant.compare(at, nowAt.subtract({ hours: years(YEARS_BACK) })) < 0) {
    return `must not lie more than ${YEARS_BACK} years back: check the year`
  }
  if (Temporal.Instant.compare(at, nowAt.add({ hours: years(YEARS_ON) })) > 0) {
    return `must not lie more than ${YEARS_ON} years ahead: check the year`
  }
  return undefined
}

/** The same for a day; the zone moves it by hours at most. */
export const farDayWords = (on: string, nowAt: Temporal.Instant): string | undefined =>
  farWords(Temporal.Instant.from(`${on}T00:00:00Z`), nowAt)

export function refuseFarDay(on: string | undefined, nowAt: Temporal.Instant, pointer: string): void {
  const words = on === undefined ? undefined : farDayWords(on, nowAt)
  if (words) throw fieldProblem(pointer, words)
}
