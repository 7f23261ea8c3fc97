import type { Link, Person, Problem, Task, Unit } from '../../api/schedule/types.ts'

export const HOUR = 60
export const DAY = 1440

/** An hour of one person's work on lot L, unless told otherwise. */
export const task = (key: string, more: Partial<Task> = {}): Task => ({
  key,
  group: key.split('/')[0] ?? key,
  elapsedMin: HOUR,
  crewMin: HOUR,
  crew: 1,
  skills: [],
  uses: [],
  interruptible: false,
  bias: 'early',
  ...more,
})

/** Something that runs by itself. */
export const wait = (key: string, elapsedMin: number, more: Partial<Task> = {}): Task =>
  task(key, { elapsedMin, crew: 0, crewMin: 0, ...more })

export const link = (
  prev: string,
  next: string,
  minLagMin = 0,
  maxLagMin?: number,
  more: Partial<Link> = {},
): Link => ({
  prev,
  next,
  from: 'end',
  minLagMin,
  maxLagMin,
  strength: 'hard',
  ...more,
})

export const person = (id: string, skills: readonly string[] = [], calendar = 'day'): Person => ({
  id,
  skills,
  calendar,
})

export const unit = (id: string, pool: string, more: Partial<Unit> = {}): Unit => ({ id, pool, capacity: 1, ...more })

/** Seven days from 8 to 17, with nobody but one person unless told otherwise. */
export const problem = (more: Partial<Problem> = {}): Problem => ({
  nowMin: 0,
  horizonMin: 7 * DAY,
  tasks: [],
  links: [],
  holds: [],
  people: [person('ana')],
  units: [],
  calendars: { day: days(8, 17) },
  seed: 1,
  moves: 1,
  ...more,
})

export const days = (fromH: number, toH: number, count = 7): [number, number][] =>
  Array.from({ length: count }, (_, d) => [d * DAY + fromH * HOUR, d * DAY + toH * HOUR])

/** `at(2, 8.5)` is the third day, half past eight. */
export const at = (day: number, hour: number): number => day * DAY + hour * HOUR
