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
    throw fieldProblem(pointer, `must not lie in the future: it is ${nowAt.toString({ smallestUnit: 'minute' })} now`)
  }
}

/** Nothing in a cellar's records is older than this; an earlier year is a slip of the finger. */
const EARLIEST = Temporal.Instant.from('2000-01-01T00:00:00Z')

export function refuseAncient(at: Temporal.Instant, pointer: string): void {
  if (at.epochMilliseconds < EARLIEST.epochMilliseconds) throw fieldProblem(pointer, 'must be later than the year 1999')
}
