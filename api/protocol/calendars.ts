import type { Calendar } from '../schedule/types.ts'
import { dayOf, minutesFrom, Temporal, wallTimeAt } from '../time.ts'
import type { Cellar, Person, ShiftRule } from './facts.ts'

/** The span a plan is laid out over. */
export interface Horizon {
  readonly startAt: Temporal.Instant
  readonly untilAt: Temporal.Instant
  readonly zone: string
}

/** Days on which fruit comes, and the hours of the local day in which somebody must be there. */
export type FruitDays = ReadonlyMap<string, { readonly fromMin: number; readonly untilMin: number }>

/** Twelve hours a day are the most, and only for fruit (common practice). */
const LONGEST_DAY_MIN = 12 * 60

/** A person's working time: shifts of local days, less absences and the days outside employment. */
export function shiftCalendar(person: Person, cellar: Cellar, h: Horizon, stretched?: Stretched): Calendar {
  const spans = localDays(h).flatMap((on): [number, number][] => {
    const rule = stretched?.(person, on) ?? shiftOn(person, on)
    if (!rule) return []
    return [
      [
        minutesFrom(h.startAt, wallTimeAt(on, rule.startMin, cellar.zone)),
        minutesFrom(h.startAt, wallTimeAt(on, rule.endMin, cellar.zone)),
      ],
    ]
  })
  const away = person.absences.map((a): [number, number] => [
    minutesFrom(h.startAt, a.fromAt),
    minutesFrom(h.startAt, a.toAt),
  ])
  return tidy(away.reduce(without, spans))
}

interface Shift {
  readonly startMin: number
  readonly endMin: number
}

/** The shift of a day with its overtime. Absent: as the rules say. */
export type Stretched = (person: Person, on: Temporal.PlainDate) => Shift | undefined

/** Fruit does not wait for the roster: who starts first comes earlier for it, who ends last stays longer. The plan says so. */
export function overtimeFor(people: readonly Person[], days: FruitDays): Stretched {
  return (person, on) => {
    const day = days.get(on.toString())
    const own = day && shiftOn(person, on)
    if (!day || !own) return undefined
    const shifts = people.flatMap((p) => shiftOn(p, on) ?? [])
    const first = Math.min(...shifts.map((x) => x.startMin))
    const last = Math.max(...shifts.map((x) => x.endMin))
    const startMin = own.startMin === first && day.fromMin < first ? Math.max(day.fromMin, own.endMin - LONGEST_DAY_MIN) : own.startMin
    const endMin = own.endMin === last && day.untilMin > last ? Math.min(day.untilMin, startMin + LONGEST_DAY_MIN) : own.endMin
    return { startMin: Math.min(startMin, own.startMin), endMin: Math.max(endMin, own.endMin) }
  }
}

function shiftOn(person: Person, on: Temporal.PlainDate): Shift | undefined {
  if (person.fromOn && before(on, person.fromOn)) return undefined
  if (person.untilOn && before(person.untilOn, on)) return undefined
  const rule = person.shifts.findLast((r) => fits(r, on))
  return !rule || rule.weekdays.length === 0 || rule.endMin <= rule.startMin ? undefined : rule
}

/** Minutes of the local day in which work may start, on the weekdays it may; named by what it allows. */
export function startCalendar(id: string, cellar: Cellar, h: Horizon): Calendar {
  const [, windowsText = '', weekdaysText = '', ...days] = id.split(' ')
  const windows = windowsText.split(',').map((w) => w.split('-').map(Number) as [number, number])
  const weekdays = [...weekdaysText].map(Number)
  const onHolidays = days.join(' ') === 'all days'
  const closed = new Set(cellar.holidays.map((day) => day.on.toString()))
  return tidy(
    localDays(h).flatMap((on): [number, number][] => {
      if (weekdays.length > 0 && !weekdays.includes(on.dayOfWeek)) return []
      if (!onHolidays && closed.has(on.toString())) return []
      return windows.map(([from, to]) => [
        minutesFrom(h.startAt, wallTimeAt(on, from, cellar.zone)),
        minutesFrom(h.startAt, wallTimeAt(on, to, cellar.zone)),
      ])
    }),
  )
}

/** The last rule that fits a day decides. A rule for some weekdays says nothing about the others; one for none sends home. */
function fits(rule: ShiftRule, on: Temporal.PlainDate): boolean {
  if (rule.fromOn && before(on, rule.fromOn)) return false
  if (rule.untilOn && before(rule.untilOn, on)) return false
  return rule.weekdays.length === 0 || rule.weekdays.includes(on.dayOfWeek)
}

function localDays(h: Horizon): readonly Temporal.PlainDate[] {
  const days: Temporal.PlainDate[] = []
  const last = dayOf(h.untilAt, h.zone)
  for (let on = dayOf(h.startAt, h.zone).subtract({ days: 1 }); !before(last, on); on = on.add({ days: 1 }))
    days.push(on)
  return days
}

const before = (a: Temporal.PlainDate, b: Temporal.PlainDate): boolean => Temporal.PlainDate.compare(a, b) < 0

function without(spans: [number, number][], [from, to]: [number, number]): [number, number][] {
  return spans.flatMap(([a, b]): [number, number][] => {
    if (to <= a || from >= b) return [[a, b]]
    return [
      [a, Math.min(b, from)],
      [Math.max(a, to), b],
    ].filter(([x, y]) => y! > x!) as [number, number][]
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
