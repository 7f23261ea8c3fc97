/** When work could be done were nothing else planned: by its hours of the day and by people's shifts. */
import { bookOf } from './bookings.ts'
import { lastFit, nextFit } from './calendar.ts'
import { claimBookOf } from './claims.ts'
import { crewNeeded } from './crew.ts'
import { type Desk, deskOf, type Stood } from './desk.ts'
import type { Gap, Model } from './model.ts'
import type { Task } from './types.ts'

/**
 * First minute >= t at which the work could start in a cellar where nothing else is planned; Infinity when never. The
 * answers are kept with the house by what the work asks for, for people ask the same of every round of every lot.
 */
export function firstAlone(model: Model, i: number, t: number): number {
  const task = model.tasks[i]!
  if (task.crew === 0 || task.crewMin === 0) return t
  const gaps = gapsOf(model, task)
  const gap = gaps.find(([from, to]) => from <= t && t <= to)
  if (gap) return gap[1]
  const alone = aloneWith(model, task)
  const window = task.startCalendar === undefined ? undefined : model.calendars.get(task.startCalendar)
  let at = t
  for (let guard = 0; guard < 40 && Number.isFinite(at); guard++) {
    const open = window ? nextFit(window, at, 1) : at
    const free = Number.isFinite(open) ? (alone.find(0, open, Infinity)?.startMin ?? Infinity) : Infinity
    at = free
    if (free === open) break
  }
  if (at > t) gaps.push([t, at])
  return at
}

/** The same for work that is planned to the day, in its hours; where nobody could ever do it alone, then. */
export function soonestAlone(model: Model, i: number, t: number): number {
  const task = model.tasks[i]!
  const window = task.startCalendar === undefined ? undefined : model.calendars.get(task.startCalendar)
  const open = window ? nextFit(window, t, 1) : t
  if (!Number.isFinite(open)) return open
  const first = firstAlone(model, i, open)
  return Number.isFinite(first) || Number.isFinite(firstAlone(model, i, 0)) ? first : open
}

/** Last minute of [fromMin, t] at which the work could start in a cellar where nothing else is planned; -Infinity when none. */
export function lastAlone(model: Model, i: number, t: number, fromMin: number): number {
  const task = model.tasks[i]!
  const window = task.startCalendar === undefined ? undefined : model.calendars.get(task.startCalendar)
  const lastOpen = (at: number) => (window ? lastFit(window, at, 1) : at)
  if (!crewNeeded(model, i) || !Number.isFinite(firstAlone(model, i, fromMin))) return lastOpen(t)
  const alone = aloneWith(model, task)
  let at = lastOpen(t)
  for (let guard = 0; guard < 400 && at >= fromMin; guard++) {
    const found = alone.find(0, fromMin, at, true)?.startMin
    if (found === undefined) return -Infinity
    at = lastOpen(found)
    if (at === found) return at
  }
  return -Infinity
}

/** A desk at which this work alone is placed, in a cellar where nothing is booked, in hours and with people alone. */
const aloneWith = (model: Model, task: Task): Desk =>
  deskOf(
    {
      ...model,
      tasks: [{ ...task, uses: [], startCalendar: undefined, byDay: undefined }],
      previous: NOTHING_KNOWN,
    },
    undefined,
    emptyOf(model),
  )

const NOTHING_KNOWN: Model['previous'] = new Map()
/** Nobody writes in it: who looks for the first minute books nothing. */
const NO_BOOK = bookOf()

/** A cellar in which nothing is booked. */
function emptyOf(model: Model): Stood {
  const books = { people: model.people.map(() => NO_BOOK), units: [], claims: claimBookOf() }
  return { ...books, workedMin: () => 0, over: () => books }
}

/** The spans found for work that asks for the same, looked up by its signs once a task. */
function gapsOf({ gaps }: Model, task: Task): Gap[] {
  const known = gaps.byTask.get(task)
  if (known) return known
  const wants = [task.startCalendar ?? '', task.crew, task.crewMin, task.interruptible, task.skills, task.pin?.people]
  const sign = wants.join('|')
  const list = gaps.bySign.get(sign) ?? []
  gaps.bySign.set(sign, list)
  gaps.byTask.set(task, list)
  return list
}
