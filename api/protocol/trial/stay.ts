/** How long somebody may stay on a day, and what it makes of their hours. */
import { Temporal, wallTimeAt } from '../../time.ts'
import { LONGEST_DAY_MIN, REST_MIN, shiftsOf } from '../calendars.ts'
import type { Facts, Person, ShiftRule } from '../facts.ts'
import type { Hours } from '../moved.ts'
import type { TrialChange } from './change.ts'

type Stay = Extract<TrialChange, { kind: 'stay' }>

const DAY_MIN = 1440

export interface StayHours {
  /** Minutes of the local day. */
  readonly startMin: number
  readonly endMin: number
  /** The latest the day may end: 12 h after it began, 11 h before the next one, and by midnight. */
  readonly longestMin: number
}

/** A person's hours on a day; undefined on a day off. */
export function stayHours(person: Person, day: string, zone: string): StayHours | undefined {
  const shift = shiftOn(person, day)
  if (!shift) return undefined
  const on = Temporal.PlainDate.from(day)
  const tomorrow = on.add({ days: 1 })
  const next = shiftOn(person, tomorrow.toString())
  // Counted on the clock that goes on: in the night in which it is set forward an hour of rest is missing.
  const longAt = wallTimeAt(on, shift.startMin, zone).add({ minutes: LONGEST_DAY_MIN })
  const restAt = next && wallTimeAt(tomorrow, next.startMin, zone).subtract({ minutes: REST_MIN })
  const { startMin, endMin } = shift
  const until = [longAt, ...(restAt ? [restAt] : [])].map((at) => minuteOf(at, on, zone))
  return { startMin, endMin, longestMin: Math.min(DAY_MIN, ...until) }
}

/** The minute of a day's wall clock; midnight at its end where it is later. */
function minuteOf(at: Temporal.Instant, on: Temporal.PlainDate, zone: string): number {
  const wall = at.toZonedDateTimeISO(zone)
  const byDays = Temporal.PlainDate.compare(wall.toPlainDate(), on)
  return byDays > 0 ? DAY_MIN : byDays < 0 ? 0 : wall.hour * 60 + wall.minute
}

const shiftOn = (person: Person, day: string) =>
  shiftsOf(person)({ on: day, weekday: Temporal.PlainDate.from(day).dayOfWeek })

/** A rule for the day alone, which comes after all others and so decides; none where the day ends no later by it. */
export function stayRule(person: Person, { on: day, untilMin }: Stay): ShiftRule | undefined {
  const shift = shiftOn(person, day)
  if (!shift || shift.endMin >= untilMin) return undefined
  const on = Temporal.PlainDate.from(day)
  return { weekdays: [on.dayOfWeek], startMin: shift.startMin, endMin: untilMin, fromOn: on, untilOn: on }
}

/** Hours that somebody is there by changed facts and was not before, of days that stand by themselves. */
export function hoursGained(before: Pick<Facts, 'people' | 'cellar'>, now: Pick<Facts, 'people'>): readonly Hours[] {
  const was = new Map(before.people.map((p) => [p.id, p]))
  return now.people.flatMap((p) => {
    const old = was.get(p.id)
    if (!old || old.shifts === p.shifts) return []
    return p.shifts.flatMap(({ fromOn, untilOn, endMin }): Hours[] => {
      if (!fromOn || fromOn.toString() !== untilOn?.toString()) return []
      const ended = shiftOn(old, fromOn.toString())?.endMin ?? endMin
      const at = (min: number) => wallTimeAt(fromOn, min, before.cellar.zone)
      return ended < endMin ? [{ fromAt: at(ended), toAt: at(endMin) }] : []
    })
  })
}
