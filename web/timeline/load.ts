/** Hours of work a day against the hours the crew has, press hours, and cooling where the plan tells it. */
import { type Days, dayCount, dayIndex } from './days.ts'
import { type Model, msOfWire } from './model.ts'
import { DAY_MS } from './scale.ts'
import { minutesOn } from './shifts.ts'
import type { PersonWire } from './wire.ts'

export interface Load {
  /** Hours of people's work planned on each day of the table. */
  readonly workH: Float64Array
  /** Hours the crew has. */
  readonly crewH: Float64Array
  readonly pressH: Float64Array
  readonly mostH: number
  /** Highest cooling of each day as a share of what the chillers give: over 1 it is short. */
  readonly coldShare?: Float64Array
}

/** Cooling by the hour, as the server works it out for the weeks ahead. */
export interface Cooling {
  readonly poolKW: number
  readonly hours: readonly { readonly at: string; readonly coolingKW: number }[]
}

export function layLoad(model: Model, days: Days, cooling?: Cooling): Load {
  const count = dayCount(days)
  const workH = new Float64Array(count)
  const crewH = new Float64Array(count)
  const pressH = new Float64Array(count)
  const presses = new Set(
    model.plan.machines.filter((m) => m.kind === 'press' || m.kind === 'basket-press').map((m) => m.code),
  )
  model.plan.tasks.forEach((task, ix) => {
    if (task.state === 'cancelled' || task.state === 'skipped') return
    const startMs = model.startMs[ix] as number
    const day = dayIndex(days, startMs)
    workH[day] = (workH[day] as number) + (task.crewMin * task.crew) / 60
    if (task.machines.some((code) => presses.has(code)))
      pressH[day] = (pressH[day] as number) + ((model.endMs[ix] as number) - startMs) / 3_600_000
  })
  for (const person of model.plan.people) addHours(crewH, person, days)
  return {
    workH,
    crewH,
    pressH,
    mostH: tallest(workH, crewH),
    ...(cooling && { coldShare: coldOf(days, cooling) }),
  }
}

/** Whoever works by the weekday alone is asked once for each weekday, and again only on days that the clock makes longer or shorter. */
function addHours(crewH: Float64Array, person: PersonWire, days: Days): void {
  const byWeekday = isByWeekday(person) ? new Float64Array(8).fill(-1) : undefined
  for (let i = 0; i < crewH.length; i++) {
    const weekday = days.weekday[i] as number
    const known = byWeekday && isPlainDay(days, i) ? (byWeekday[weekday] as number) : -1
    const hours = known >= 0 ? known : minutesOn(person, days, i) / 60
    if (known < 0 && byWeekday && isPlainDay(days, i)) byWeekday[weekday] = hours
    crewH[i] = (crewH[i] as number) + hours
  }
}

const isByWeekday = ({ fromOn, untilOn, absences, shifts }: PersonWire): boolean =>
  !fromOn && !untilOn && absences.length === 0 && shifts.every((s) => !s.fromOn && !s.untilOn && s.endMin <= 1440)

const isPlainDay = ({ startMs }: Days, index: number): boolean =>
  (startMs[index + 1] as number) - (startMs[index] as number) === DAY_MS

/** One wild day must not flatten the rest: half as much again as the crew's best day, or the busiest day if that is less. */
function tallest(workH: Float64Array, crewH: Float64Array): number {
  const crew = crewH.reduce((most, h) => Math.max(most, h), 0)
  const work = workH.reduce((most, h) => Math.max(most, h), 0)
  return Math.max(8, crew, Math.min(work, crew > 0 ? crew * 1.5 : work))
}

function coldOf(days: Days, { poolKW, hours }: Cooling): Float64Array {
  const share = new Float64Array(dayCount(days))
  for (const hour of hours) {
    const day = dayIndex(days, msOfWire(hour.at))
    // No chiller at all: any cooling is short.
    const part = poolKW > 0 ? hour.coolingKW / poolKW : hour.coolingKW > 0 ? 2 : 0
    share[day] = Math.max(share[day] as number, part)
  }
  return share
}
