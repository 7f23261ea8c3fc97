import type { Book, Booking } from './bookings.ts'
import { bothOpen, lastFit, nextFit, type Open, piecesFrom, spanAt } from './calendar.ts'
import type { Model } from './model.ts'
import { type Trip, wayMin } from './travel.ts'
import type { Task } from './types.ts'

export type Piece = readonly [fromMin: number, toMin: number]

export interface Crew {
  readonly people: readonly number[]
  /** When they work: one piece, or several where the work pauses. */
  readonly pieces: readonly Piece[]
}

/** Whether a booking does not count. */
export type Passes = (b: Booking) => boolean
const none: Passes = () => false

/** Asks how well a person suits: lower is better. */
export type Suit = (person: number) => number

export const crewNeeded = (model: Model, i: number): boolean => model.tasks[i]!.crew > 0 && model.tasks[i]!.crewMin > 0

/** People who may stand in the crew: those a person has named, else all who could be of use. */
export function whoMay(model: Model, i: number): readonly number[] {
  const task = model.tasks[i]!
  const skills = task.crew > 1 ? [] : task.skills
  const sign = skills.join('|')
  const known = model.able.get(sign)
  if (known) return known
  const able = [...model.people.keys()].filter((p) => skills.every((s) => model.people[p]!.skills.has(s)))
  model.able.set(sign, able)
  return able
}

/**
 * First minute >= t (or last <= t, going back) at which the person could do the work alone.
 *
 * @param trip   where the work is, where people travel
 * @param isIdle bookings that do not count
 */
export function freeFrom(
  open: Open,
  book: Book,
  t: number,
  workMin: number,
  mayPause: boolean,
  back: boolean,
  trip?: Trip,
  isIdle?: Passes,
): number {
  let at = t
  for (let guard = 0; guard < 100_000; guard++) {
    const length = mayPause ? 1 : workMin
    at = back ? lastFit(open, at, length) : nextFit(open, at, length)
    if (!Number.isFinite(at)) return at
    const pieces = mayPause ? piecesFrom(open, at, workMin) : [[at, at + workMin] as const]
    if (!pieces) {
      if (!back) return Infinity
      at -= Math.max(1, Math.min(15, workMin))
      continue
    }
    const clash = firstClash(book, pieces, trip, isIdle)
    if (!clash) return at
    at = back ? Math.min(at - 1, mayPause ? clash[0] - 1 : clash[0] - workMin) : Math.max(at + 1, clash[1])
  }
  return back ? -Infinity : Infinity
}

/** The first other work in the way of these pieces, with the ways to it and from it. */
export function firstClash(
  book: Book,
  pieces: readonly Piece[],
  trip?: Trip,
  isIdle: Passes = none,
): Piece | undefined {
  let clash: Piece | undefined
  const reach = trip?.travel.longestMin ?? 0
  for (const [from, to] of pieces) {
    book.touching(from - reach, to + reach, (b) => {
      const found: Piece = trip
        ? [
            b.fromMin - wayMin(trip.travel, trip.site, b.site ?? 0),
            b.toMin + wayMin(trip.travel, b.site ?? 0, trip.site),
          ]
        : [b.fromMin, b.toMin]
      if (found[0] >= to || found[1] <= from || isIdle(b)) return false
      clash = found
      return true
    })
    if (clash) return clash
  }
  return undefined
}

/** Where a task's people must be, where people travel at all. */
export const tripOf = ({ travel }: Pick<Model, 'travel'>, task: Task): Trip | undefined =>
  travel && { travel, site: task.site ?? 0 }

/** The pieces a crew works together from t on; undefined when its shifts never meet for long enough. */
export function piecesOf(model: Model, i: number, people: readonly number[], t: number): readonly Piece[] | undefined {
  const task = model.tasks[i]!
  if (!task.interruptible || people.length === 0) return [[t, t + task.crewMin]]
  return piecesFrom(
    people.slice(1).reduce((open, p) => bothOpen(open, model.people[p]!.open), model.people[people[0]!]!.open),
    t,
    task.crewMin,
  )
}

/**
 * Picks a crew out of those free: every skill by at least one, `must` in it, best suited first.
 * `lenient` takes the most useful it can get where the full crew is not to be had.
 */
export function pickCrew(
  model: Model,
  i: number,
  free: readonly number[],
  must: readonly number[],
  suit: Suit,
  lenient: boolean,
): readonly number[] | undefined {
  const task = model.tasks[i]!
  const rest = free.filter((p) => !must.includes(p)).sort((a, b) => suit(a) - suit(b) || a - b)
  const size = Math.max(task.crew, must.length)
  const missing = task.skills.filter((s) => !must.some((p) => has(model, p, s)))
  const covering = cover(model, missing, rest, size - must.length, lenient)
  if (!covering) return undefined
  const crew = [...must, ...covering]
  for (const p of rest) if (crew.length < size && !crew.includes(p)) crew.push(p)
  // In one fixed order, so that the same crew is never a change.
  return crew.length >= size || lenient ? crew.sort((a, b) => a - b) : undefined
}

function cover(
  model: Model,
  missing: readonly string[],
  free: readonly number[],
  room: number,
  lenient: boolean,
): readonly number[] | undefined {
  const [skill] = missing
  if (skill === undefined) return []
  if (room > 0)
    for (const p of free) {
      if (!has(model, p, skill)) continue
      const left = missing.filter((s) => !has(model, p, s))
      const rest = free.filter((f) => f !== p)
      const others = cover(model, left, rest, room - 1, lenient)
      if (others) return [p, ...others]
    }
  return lenient ? cover(model, missing.slice(1), free, room, true) : undefined
}

const has = (model: Model, p: number, skill: string) => model.people[p]!.skills.has(skill)

/** Whether a person is on shift for the whole of a piece. */
export function onShift(open: Open, [from, to]: Piece): boolean {
  const k = spanAt(open, from)
  return k >= 0 && to <= open.to[k]!
}
