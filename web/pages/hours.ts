import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'

export const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const

export const clockOf = (min: number): string =>
  `${String(Math.floor((min % 1440) / 60)).padStart(2, '0')}:${String(min % 60).padStart(2, '0')}`
export const minOf = (clock: string): number => {
  const [hours = 0, minutes = 0] = clock.split(':').map(Number)
  return hours * 60 + minutes
}

type Shift = PersonWire['shifts'][number]

export const inForce = (shift: Shift, on: string): boolean =>
  (shift.fromOn === undefined || shift.fromOn <= on) && (shift.untilOn === undefined || shift.untilOn >= on)

export function sayShift(shift: Shift): string {
  if (shift.weekdays.length === 0) return 'off'
  return `${sayDays(shift.weekdays)} ${clockOf(shift.startMin)}–${clockOf(shift.endMin)}`
}

/** `Mon–Fri`, `Mon, Wed`. */
export function sayDays(weekdays: readonly number[]): string {
  const first = weekdays[0] ?? 1
  const last = weekdays[weekdays.length - 1] ?? 1
  const name = (day: number) => WEEKDAYS[day - 1] ?? ''
  const run = weekdays.length > 2 && last - first === weekdays.length - 1
  return run ? `${name(first)}–${name(last)}` : weekdays.map(name).join(', ')
}

/** Minutes a person works on a day by their hours: the last line that fits decides. Absences are shown, not subtracted by part. */
export function shiftMin(
  person: Pick<PersonWire, 'shifts' | 'absences' | 'fromOn' | 'untilOn'>,
  on: string,
  weekday: number,
  dayStartMs: number,
): number {
  if ((person.fromOn && on < person.fromOn) || (person.untilOn && on > person.untilOn)) return 0
  const fits = person.shifts.filter(
    (shift) => inForce(shift, on) && (shift.weekdays.length === 0 || shift.weekdays.includes(weekday)),
  )
  const shift = fits[fits.length - 1]
  if (!shift || shift.weekdays.length === 0) return 0
  const fromMs = dayStartMs + shift.startMin * 60_000
  const toMs = dayStartMs + shift.endMin * 60_000
  const awayMs = person.absences.reduce(
    (sum, absence) => sum + Math.max(0, Math.min(toMs, msOf(absence.toAt)) - Math.max(fromMs, msOf(absence.fromAt))),
    0,
  )
  return Math.max(0, Math.round((toMs - fromMs - awayMs) / 60_000))
}

/** Minutes at work by `person day`. What is done at the same time, as one stream, is counted once. */
export function workMin(
  tasks: readonly Pick<TaskWire, 'state' | 'startAt' | 'crewMin' | 'people'>[],
  dayOf: (at: string) => string,
): ReadonlyMap<string, number> {
  const ends = new Map<string, number>()
  const sums = new Map<string, number>()
  for (const task of tasks.toSorted((a, b) => msOf(a.startAt) - msOf(b.startAt))) {
    if (task.state === 'cancelled' || task.state === 'skipped' || task.crewMin === 0) continue
    const fromMs = msOf(task.startAt)
    const toMs = fromMs + task.crewMin * 60_000
    for (const id of task.people) {
      const key = `${id} ${dayOf(task.startAt)}`
      const freshMs = Math.max(0, toMs - Math.max(fromMs, ends.get(key) ?? 0))
      sums.set(key, (sums.get(key) ?? 0) + freshMs / 60_000)
      ends.set(key, Math.max(toMs, ends.get(key) ?? 0))
    }
  }
  return sums
}
