/** A month as counts: how much of each kind on each day, and what is late. */
import { type Days, dayCount, dayIndex, isoOf } from '../timeline/days.ts'
import { FAMILY_ORDER, LATE, type Model } from '../timeline/model.ts'

export type Who =
  | { readonly kind: 'all' }
  | { readonly kind: 'person' | 'team' | 'lot' | 'vessel'; readonly id: string }

export interface DayCell {
  /** Place in the table of days. */
  readonly index: number
  readonly on: string
  readonly dayOfMonth: number
  readonly inMonth: boolean
  readonly today: boolean
  /** In the order of the families. */
  readonly counts: readonly number[]
  readonly late: number
  readonly done: number
  readonly tasks: readonly number[]
}

export interface Month {
  readonly year: number
  readonly month: number
  /** Monday first. */
  readonly weeks: readonly (readonly DayCell[])[]
  /** The busiest count of any kind on any day. */
  readonly most: number
}

const daysIn = (year: number, month: number): number => new Date(Date.UTC(year, month, 0)).getUTCDate()

/** The same day some months on, or the month's last where it has no such day. */
export function monthsOn(on: string, by: number): string {
  const at = new Date(on)
  const month = at.getUTCMonth() + by
  const last = daysIn(at.getUTCFullYear(), month + 1)
  return new Date(Date.UTC(at.getUTCFullYear(), month, Math.min(at.getUTCDate(), last))).toISOString().slice(0, 10)
}

/** The month that holds a day of the table. */
export function layMonth(model: Model, days: Days, index: number, todayIndex: number, who: Who): Month {
  const first = index - (days.dayOfMonth[index] as number) + 1
  const month = days.month[index] as number
  const length = daysIn(days.year[index] as number, month)
  const monday = first - ((days.weekday[first] as number) - 1)
  const last = first + length - 1
  const weekCount = Math.ceil((last - monday + 1) / 7)
  const tasks = tasksByDay(model, days, who)
  const weeks = Array.from({ length: weekCount }, (_, w) =>
    Array.from({ length: 7 }, (_, d) => dayCell(model, days, monday + w * 7 + d, month, todayIndex, tasks)),
  )
  return { year: days.year[index] as number, month, weeks, most: Math.max(1, ...weeks.flat().flatMap((c) => c.counts)) }
}

export function dayCell(
  model: Model,
  days: Days,
  index: number,
  month: number,
  todayIndex: number,
  byDay: ReadonlyMap<number, readonly number[]>,
): DayCell {
  const tasks = byDay.get(index) ?? []
  const counts = FAMILY_ORDER.map(() => 0)
  let late = 0
  let done = 0
  for (const ix of tasks) {
    const family = model.family[ix] as number
    counts[family] = (counts[family] as number) + 1
    if (model.state[ix] === 3) done += 1
    else if ((model.flags[ix] as number) & LATE) late += 1
  }
  return {
    index,
    on: isoOf(days, index),
    dayOfMonth: days.dayOfMonth[index] as number,
    inMonth: days.month[index] === month,
    today: index === todayIndex,
    counts,
    late,
    done,
    tasks,
  }
}

/** Tasks of each local day they start on, in order of start. */
export function tasksByDay(model: Model, days: Days, who: Who): ReadonlyMap<number, readonly number[]> {
  const byDay = new Map<number, number[]>()
  const order = model.plan.tasks.map((_, ix) => ix).filter((ix) => isTheirs(model, ix, who))
  order.sort((a, b) => (model.startMs[a] as number) - (model.startMs[b] as number) || a - b)
  for (const ix of order) {
    const index = Math.min(dayCount(days) - 1, dayIndex(days, model.startMs[ix] as number))
    const list = byDay.get(index)
    if (list) list.push(ix)
    else byDay.set(index, [ix])
  }
  return byDay
}

function isTheirs(model: Model, ix: number, who: Who): boolean {
  const task = model.plan.tasks[ix]
  if (!task || task.state === 'cancelled') return false
  switch (who.kind) {
    case 'all':
      return true
    case 'person':
      return task.people.includes(who.id)
    case 'team':
      return model.plan.people.some((p) => teamOf(p) === who.id && task.people.includes(p.id))
    case 'lot':
      return task.lotCode === who.id
    case 'vessel':
      return task.fromVessels.includes(who.id) || task.toVessels.includes(who.id)
  }
}

/** People with one post are a team; who has none goes by the role. */
export const teamOf = (person: { readonly post: string; readonly role: string }): string => person.post || person.role
