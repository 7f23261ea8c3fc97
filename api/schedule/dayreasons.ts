import { lastAlone, soonestAlone } from './alone.ts'
import { type Books, booksOf, type Claim, claimsOf, dayPieces, overfull } from './claims.ts'
import { crewNeeded, whoMay } from './crew.ts'
import type { Scene } from './explain.ts'
import type { House } from './model.ts'
import type { Cause } from './types.ts'

/** A day that was full longer ago than this is not the reason for where work stands. */
export const LOOK_BACK_DAYS = 7

/**
 * Why work that is planned to the day does not stand on a day before: the day is full, its people are off, its hours of
 * the day are over. Empty where a day before would do.
 *
 * @param sinceMin from here on nothing but days stood in its way
 */
export function dayBefore(scene: Scene, i: number, sinceMin: number): readonly Cause[] {
  const { model, slots, desk } = scene
  const task = model.tasks[i]!
  const { startMin, endMin } = slots[i]!
  const day = model.days.of(startMin)
  const from = model.days.from(day)
  const back = Math.max(sinceMin, model.days.from(day - LOOK_BACK_DAYS))
  const last = lastAlone(model, i, from - 1, back)
  if (last >= back) {
    // On that day it would have been placed as soon as it can be.
    const at = soonestAlone(model, i, Math.max(back, model.days.from(model.days.of(last))))
    const crew = { people: [], pieces: dayPieces(model, i, at) }
    const full = overfull(model, desk, claimsOf(model, i, { startMin: at, endMin: at + endMin - startMin, crew }))
    return full
      ? [{ kind: 'day', ref: full.ref, dayMin: model.days.from(full.day), fills: fillsOf(model, desk, full) }]
      : []
  }
  const [first] = crewNeeded(model, i) ? whoMay(model, i) : []
  if (first !== undefined) return [{ kind: 'shift', ref: model.people[first]!.person.id }]
  return task.startCalendar === undefined ? [] : [{ kind: 'window', ref: task.startCalendar }]
}

/** As many as a person can weigh against each other. */
const MOST_FILLS = 3

/** The other work that takes most of what a day gives: by the minute what is booked, by the day what is claimed. */
function fillsOf(house: House, books: Books, { key: own, day, ref }: Claim): NonNullable<Cause['fills']> {
  const [from, to] = [house.days.from(day), house.days.from(day + 1)]
  const taken = new Map<string, number>()
  const take = (key: string, minutes: number) => {
    if (key !== own && minutes > 0) taken.set(key, (taken.get(key) ?? 0) + minutes)
  }
  for (const book of booksOf(house, books, ref))
    book.touching(from, to, (b) => {
      if (b.kind === 'task') take(b.key, Math.min(b.toMin, to) - Math.max(b.fromMin, from))
      return false
    })
  for (const claim of books.claims.on(day)) if (claim.ref === ref) take(claim.key, claim.minutes)
  return [...taken]
    .map(([key, minutes]) => ({ key, minutes }))
    .sort((a, b) => b.minutes - a.minutes || (a.key < b.key ? -1 : 1))
    .slice(0, MOST_FILLS)
}
