import { dayOf, minutesFrom, type Temporal, wallTimeAt } from '../time.ts'

/** A local day of the plan in plain numbers: calendars of many people over many months are laid out from these. */
export interface Day {
  /** ISO 8601; days compare as text. */
  readonly on: string
  readonly weekday: number
  readonly startMin: number
  /** 1440, but for the two days on which the clock is changed. */
  readonly lengthMin: number
  readonly date: Temporal.PlainDate
}

export interface Horizon {
  readonly startAt: Temporal.Instant
  readonly untilAt: Temporal.Instant
  readonly zone: string
}

export function daysOf(h: Horizon): readonly Day[] {
  const dates: Temporal.PlainDate[] = []
  const last = dayOf(h.untilAt, h.zone).add({ days: 1 }).toString()
  for (let date = dayOf(h.startAt, h.zone).subtract({ days: 1 }); date.toString() <= last; date = date.add({ days: 1 }))
    dates.push(date)
  const starts = dates.map((date) => minutesFrom(h.startAt, wallTimeAt(date, 0, h.zone)))
  return dates.slice(0, -1).map((date, i) => ({
    on: date.toString(),
    weekday: date.dayOfWeek,
    startMin: starts[i]!,
    lengthMin: starts[i + 1]! - starts[i]!,
    date,
  }))
}

/** A wall time of a day, in minutes from plan start. Counting from midnight is right on days of 24 hours only. */
export const minuteOn = (day: Day, minuteOfDay: number, h: Horizon): number =>
  day.lengthMin === 1440
    ? day.startMin + minuteOfDay
    : minutesFrom(h.startAt, wallTimeAt(day.date, minuteOfDay, h.zone))
