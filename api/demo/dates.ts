import { Temporal, wallTimeAt } from '../time.ts'

export const ZONE = 'Pacific/Auckland'

/** The Monday in the thick of the invented vintage: eleven lots begun or about to be. */
export const MID_VINTAGE_ON = Temporal.PlainDate.from('2027-03-22')

/** Turns the story's own days and hours into moved ones. Weekdays stay, so shifts and the Easter gap keep their sense. */
export interface Dates {
  readonly weeks: number
  on(day: string): Temporal.PlainDate
  /** `2027-03-09T15:00`, wall clock of the cellar. */
  at(wall: string): Temporal.Instant
}

export function datesFor(weeks: number): Dates {
  const on = (day: string) => Temporal.PlainDate.from(day).add({ weeks })
  return {
    weeks,
    on,
    at: (wall) => {
      const time = Temporal.PlainTime.from(wall.slice(11))
      return wallTimeAt(on(wall.slice(0, 10)), time.hour * 60 + time.minute, ZONE)
    },
  }
}

/** Whole weeks that bring the middle of the vintage into the week (Monday to Sunday) of a day. */
export function weeksTo(todayOn: Temporal.PlainDate): number {
  const mondayOn = todayOn.subtract({ days: todayOn.dayOfWeek - 1 })
  return MID_VINTAGE_ON.until(mondayOn, { largestUnit: 'weeks' }).weeks
}
