/** How long somebody may stay on a day, and what it makes of their hours. */
import { Temporal, wallTimeAt } from '../../time.ts'
import { LONGEST_DAY_MIN, shiftsOf } from '../calendars.ts'
import type { Facts, Person, ShiftRule } from '../facts.ts'
import type { Hours } from '../moved.ts'
import type { TrialChange } from './change.ts'

type Stay = Extract<TrialChange, { kind: 'stay' }>

/** Between two days of work: 11 h. Common practice; what a country asks for is to be looked up there. */
const REST_MIN = 11 * 60
const DAY_MIN = 1440

export interface StayHours {
  /** Minutes of the local day. */
  readonly startMin: number
  readonly endMin: number
  /** The latest the day may end: 12 h after it began, 11 h before the next one, and by midnight. */
  readonly longestMin: number
}

/** A person's hours on a day; undefined on a day off. */
export function stayHours(person: Person, day: string): StayHours | undefined {
  const on = Temporal.PlainDate.from(day)
  const of = shiftsOf(person)
  const shift = of({ on: day, weekday: on.dayOfWeek })
  if (!shift) return undefined
  const tomorrow = on.add({ days: 1 })
  const next = of({ on: tomorrow.toString(), weekday: tomorrow.dayOfWeek })
  const rested = next ? DAY_MIN + next.startMin - REST_MIN : DAY_MIN
  const { startMin, endMin } = shift
  return { startMin, endMin, longestMin: Math.min(DAY_MIN, startMin + LONGEST_DAY_MIN, rested) }
}

/** A rule for the day alone, which comes after all others and so decides; none where the day ends no later by it. */
export function stayRule(person: Person, { on: day, untilMin }: Stay): ShiftRule | undefined {
  const hours = stayHours(person, day)
  if (!hours || hours.endMin >= untilMin) return undefined
  const on = Temporal.PlainDate.from(day)
  return { weekdays: [on.dayOfWeek], startMin: hours.startMin, endMin: untilMin, fromOn: on, untilOn: on }
}

/** Hours that somebody is there by changed facts and was not before, of days that stand by themselves. */
export function hoursGained(before: Pick<Facts, 'people' | 'cellar'>, now: Pick<Facts, 'people'>): readonly Hours[] {
  const was = new Map(before.people.map((p) => [p.id, p]))
  return now.people.flatMap((p) => {
    const old = was.get(p.id)
    if (!old || old.shifts === p.shifts) return []
    return p.shifts.flatMap(({ fromOn, untilOn, endMin }): Hours[] => {
      if (!fromOn || fromOn.toString() !== untilOn?.toString()) return []
      const ended = stayHours(old, fromOn.toString())?.endMin ?? endMin
      const at = (min: number) => wallTimeAt(fromOn, min, before.cellar.zone)
      return ended < endMin ? [{ fromAt: at(ended), toAt: at(endMin) }] : []
    })
  })
}
