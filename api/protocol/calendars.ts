import type { Calendar } from '../schedule/types.ts'
import { minutesFrom, Temporal } from '../time.ts'
import { type Day, daysOf, type Horizon, minuteOn } from './days.ts'
import type { Facts, Person, ShiftRule } from './facts.ts'

/** Days on which fruit comes, and the hours of the local day in which somebody must be there. */
export type FruitDays = ReadonlyMap<string, { readonly fromMin: number; readonly untilMin: number }>

/** Twelve hours a day are the most, and only for fruit and where somebody stays (common practice). */
export const LONGEST_DAY_MIN = 12 * 60

/** Between two days of work: 11 h. Common practice; what a country asks for is to be looked up there. */
export const REST_MIN = 11 * 60

/** Everybody's working time, and the minutes in which each kind of work may start. */
export function calendarsFor(
  facts: Facts,
  people: readonly Person[],
  starts: Iterable<string>,
  fruitDays: FruitDays,
  h: Horizon,
): Readonly<Record<string, Calendar>> {
  const days = daysOf(h)
  const closed = new Set(facts.cellar.holidays.map((day) => day.on.toString()))
  const usual = people.map(usualShiftsOf)
  return Object.fromEntries([
    ...people.map((person, i) => [`shift ${person.id}`, shiftCalendar(person, usual[i]!, usual, days, fruitDays, h)]),
    ...[...starts].map((id) => [id, startCalendar(id, days, closed, h)]),
  ])
}

interface Shift {
  readonly startMin: number
  readonly endMin: number
}

type ShiftsOf = (day: Pick<Day, 'on' | 'weekday'>) => Shift | undefined

/**
 * The last rule that fits a day decides. A rule for some weekdays says nothing about the others; one for none sends home.
 */
export function shiftsOf(person: Person): ShiftsOf {
  const from = person.fromOn?.toString() ?? ''
  const until = person.untilOn?.toString() ?? '9'
  const rules = person.shifts.map((r) => ({
    ...r,
    from: r.fromOn?.toString() ?? '',
    until: r.untilOn?.toString() ?? '9',
  }))
  return (day) => {
    if (day.on < from || day.on > until) return undefined
    const rule = rules.findLast(
      (r) => day.on >= r.from && day.on <= r.until && (r.weekdays.length === 0 || r.weekdays.includes(day.weekday)),
    )
    return !rule || rule.weekdays.length === 0 || rule.endMin <= rule.startMin ? undefined : rule
  }
}

/** The same without what somebody stays longer on a single day: that makes nobody the one who ends last. */
function usualShiftsOf(person: Person): ShiftsOf {
  const isOneDay = (r: ShiftRule) => r.fromOn !== undefined && r.fromOn.toString() === r.untilOn?.toString()
  const own = shiftsOf(person)
  if (!person.shifts.some(isOneDay)) return own
  const usual = shiftsOf({ ...person, shifts: person.shifts.filter((r) => !isOneDay(r)) })
  return (day) => {
    const [is, was] = [own(day), usual(day)]
    return is && was && was.startMin === is.startMin && was.endMin < is.endMin ? was : is
  }
}

export const isAway = (person: Person, at: Temporal.Instant): boolean =>
  person.absences.some((a) => Temporal.Instant.compare(a.fromAt, at) <= 0 && Temporal.Instant.compare(at, a.toAt) < 0)

/** Shifts of local days, longer where fruit comes, less absences. */
function shiftCalendar(
  person: Person,
  usual: ShiftsOf,
  all: readonly ShiftsOf[],
  days: readonly Day[],
  fruitDays: FruitDays,
  h: Horizon,
): Calendar {
  const own = shiftsOf(person)
  let homeMin = -Infinity
  const spans = days.flatMap((day): [number, number][] => {
    const shift = own(day)
    if (!shift) return []
    const { startMin, endMin } = stretched(shift, usual(day) ?? shift, day, all, fruitDays)
    // Who went home late for yesterday's fruit comes no earlier for today's than rested, and no later than by roster.
    const restedMin = Math.min(homeMin + REST_MIN, minuteOn(day, shift.startMin, h))
    const fromMin = Math.max(minuteOn(day, startMin, h), restedMin)
    homeMin = minuteOn(day, endMin, h)
    return [[fromMin, homeMin]]
  })
  const away = person.absences.map((a): [number, number] => [
    minutesFrom(h.startAt, a.fromAt),
    minutesFrom(h.startAt, a.toAt),
  ])
  return tidy(away.reduce(without, spans))
}

/** Fruit does not wait for the roster: who starts first comes earlier for it, who ends last stays longer. */
function stretched(shift: Shift, usual: Shift, day: Day, all: readonly ShiftsOf[], fruitDays: FruitDays): Shift {
  const fruit = fruitDays.get(day.on)
  if (!fruit) return shift
  const shifts = all.flatMap((of) => of(day) ?? [])
  const first = Math.min(...shifts.map((x) => x.startMin))
  const last = Math.max(...shifts.map((x) => x.endMin))
  const early = shift.startMin === first && fruit.fromMin < first
  const startMin = early
    ? Math.min(shift.startMin, Math.max(fruit.fromMin, shift.endMin - LONGEST_DAY_MIN))
    : shift.startMin
  const late = usual.endMin === last && fruit.untilMin > last
  const endMin = late ? Math.max(shift.endMin, Math.min(fruit.untilMin, startMin + LONGEST_DAY_MIN)) : shift.endMin
  return { startMin, endMin }
}

/** Minutes of the local day in which work may start, on the weekdays it may; named by what it allows. */
function startCalendar(id: string, days: readonly Day[], closed: ReadonlySet<string>, h: Horizon): Calendar {
  const [, windowsText = '', weekdaysText = '', ...rest] = id.split(' ')
  const windows = windowsText.split(',').map((w) => w.split('-').map(Number) as [number, number])
  const weekdays = [...weekdaysText].map(Number)
  const onHolidays = rest.join(' ') === 'all days'
  return tidy(
    days
      .filter((day) => (weekdays.length === 0 || weekdays.includes(day.weekday)) && (onHolidays || !closed.has(day.on)))
      .flatMap((day) => windows.map(([from, to]) => [minuteOn(day, from, h), minuteOn(day, to, h)] as const)),
  )
}

function without(spans: [number, number][], [from, to]: [number, number]): [number, number][] {
  return spans.flatMap(([a, b]): [number, number][] => {
    if (to <= a || from >= b) return [[a, b]]
    const left: [number, number] = [a, Math.min(b, from)]
    const right: [number, number] = [Math.max(a, to), b]
    return [left, right].filter(([x, y]) => y > x)
  })
}

/** Ascending and disjoint, as the planner wants them. */
function tidy(spans: readonly (readonly [number, number])[]): Calendar {
  const joined: [number, number][] = []
  for (const [from, to] of [...spans].sort((a, b) => a[0] - b[0])) {
    const last = joined.at(-1)
    if (to <= from) continue
    if (last && from <= last[1]) last[1] = Math.max(last[1], to)
    else joined.push([from, to])
  }
  return joined
}
