import type { Booked } from './booked.ts'
import { type Book, type Booking, bookOf, bookOver, type Overlay } from './bookings.ts'
import { type Claim, claimBookOf, claimBookOver, dayBroken } from './claims.ts'
import { eachDay } from './days.ts'
import { bookFixed, type Stood } from './desk.ts'
import type { House } from './model.ts'
import type { BrokenRule } from './types.ts'
import { personTaken, reachOf, type SideOf, unitBroken, unitTaken } from './unitrules.ts'

const DAY_MIN = 1440

/** Everything that is booked in a cellar, and which bookings want the same. */
export interface Ledger extends Stood {
  readonly enter: (taken: Taken) => void
  readonly strike: (taken: Taken) => void
  readonly broken: (sideOf: SideOf, nowMin: number) => readonly BrokenRule[]
}

/** What work takes: bookings by the minute, claims by the day. */
export interface Taken {
  readonly booked: readonly Booked[]
  readonly claims: readonly Claim[]
}

/** Two bookings of one person or unit that touch; whether that breaks a rule is asked when somebody wants to know. */
interface Pair {
  readonly of: Booked['of']
  readonly at: number
  readonly a: Booking
  readonly b: Booking
}

export function ledgerOf(house: House): Ledger {
  const people = house.people.map(() => bookOf())
  const units = house.units.map(() => bookOf())
  const worked = house.people.map(() => new Map<number, number>())
  const pairs = new Map<Booking, Set<Pair>>()
  const stale = new Set<number>()
  const pools = new Map<number, readonly BrokenRule[]>()
  bookFixed(house, units)
  const claims = claimBookOf()
  const staleDays = new Set<number>()
  const fullDays = new Map<number, readonly BrokenRule[]>()
  let judgedMin = Number.NaN
  const written = new Set<Overlay>()
  const overlay = (book: Book): Overlay => {
    const over: Overlay = bookOver(book, () => written.add(over))
    return over
  }
  const over = { people: people.map(overlay), units: units.map(overlay) }
  const books = { people, units, claims }

  const bookAt = ({ of, at }: Booked): Book => (of === 'person' ? people : units)[at]!
  const isPool = ({ of, at }: Booked) => of === 'unit' && judgedWhole(house, at)
  const work = ({ of, at, booking }: Booked, sign: number) => {
    if (of !== 'person') return
    const day = Math.floor(booking.fromMin / DAY_MIN)
    worked[at]!.set(day, (worked[at]!.get(day) ?? 0) + sign * (booking.toMin - booking.fromMin))
  }
  /** Days whose claims must be looked at again: what is booked on them takes from what they have left. */
  const stir = (b: Booked) => {
    if (b.of === 'unit' && !house.units[b.at]!.single) return
    eachDay(house.days, b.booking.fromMin, b.booking.toMin, (day) => {
      if (claims.on(day).length > 0) staleDays.add(day)
    })
  }
  const join = (pair: Pair) => {
    for (const side of [pair.a, pair.b]) {
      const set = pairs.get(side)
      if (set) set.add(pair)
      else pairs.set(side, new Set([pair]))
    }
  }
  const part = (booking: Booking) => {
    for (const pair of pairs.get(booking) ?? []) {
      const other = pair.a === booking ? pair.b : pair.a
      const set = pairs.get(other)
      set?.delete(pair)
      if (set?.size === 0) pairs.delete(other)
    }
    pairs.delete(booking)
  }

  return {
    people,
    units,
    claims,
    over: () => {
      for (const book of written) book.wipe()
      written.clear()
      return { ...over, claims: claimBookOver(claims) }
    },
    workedMin: (p, day) => worked[p]!.get(day) ?? 0,
    enter: ({ booked, claims: claimed }) => {
      for (const c of claimed) {
        claims.add(c)
        staleDays.add(c.day)
      }
      for (const b of booked) {
        stir(b)
        if (isPool(b)) stale.add(b.at)
        else for (const pair of pairsOf(house, b, bookAt(b))) join(pair)
        bookAt(b).add(b.booking)
        work(b, 1)
      }
    },
    strike: ({ booked, claims: claimed }) => {
      for (const c of claimed) {
        claims.drop(c)
        staleDays.add(c.day)
      }
      for (const b of booked) {
        stir(b)
        if (isPool(b)) stale.add(b.at)
        else part(b.booking)
        bookAt(b).drop(b.booking)
        work(b, -1)
      }
    },
    broken: (sideOf, nowMin) => {
      // What is history by now is no longer held against a unit that is judged by its whole book.
      if (nowMin !== judgedMin) for (const u of pools.keys()) if (house.units[u]!.single) stale.add(u)
      judgedMin = nowMin
      for (const u of stale) pools.set(u, unitBroken(house.units[u]!, units[u]!.list, sideOf, nowMin))
      stale.clear()
      for (const day of staleDays) {
        const full = dayBroken(house, books, day)
        if (full.length > 0) fullDays.set(day, full)
        else fullDays.delete(day)
      }
      staleDays.clear()
      const apart = [...new Set([...pairs.values()].flatMap((set) => [...set]))].sort(byPlace)
      return [
        ...apart.flatMap((pair) => brokenBy(house, pair, sideOf, nowMin) ?? []),
        ...[...pools].sort(([a], [b]) => a - b).flatMap(([, broken]) => broken),
        ...[...fullDays].sort(([a], [b]) => a - b).flatMap(([, broken]) => broken),
      ]
    },
  }
}

/** In one fixed order, so that what is broken is told the same whichever booking came first. */
function byPlace(a: Pair, b: Pair): number {
  if (a.of !== b.of) return a.of < b.of ? -1 : 1
  return a.at - b.at || byStart(a.a, b.a) || byStart(a.b, b.b)
}

const byStart = (a: Booking, b: Booking): number =>
  a.fromMin - b.fromMin || a.toMin - b.toMin || (a.key === b.key ? 0 : a.key < b.key ? -1 : 1)

/** Shared by amounts, or with hours of its own: such a unit is judged by its whole book. */
export const judgedWhole = (house: House, u: number): boolean =>
  !house.units[u]!.single || house.units[u]!.open !== undefined

/** A booking and each of those in the book that it touches or stands too near to, the earlier one first. */
export function pairsOf(house: House, { of, at, booking }: Booked, book: Book): readonly Pair[] {
  const found: Pair[] = []
  const reach =
    of === 'person' ? (house.travel?.longestMin ?? 0) : Math.max(booking.cleanMin, reachOf(house.units[at]!, book))
  book.touching(booking.fromMin - reach, booking.toMin + reach, (other) => {
    if (other !== booking && !(other.key === booking.key && other.kind === booking.kind && of === 'person'))
      found.push(other.fromMin <= booking.fromMin ? { of, at, a: other, b: booking } : { of, at, a: booking, b: other })
    return false
  })
  return found
}

export function brokenBy(house: House, { of, at, a, b }: Pair, sideOf: SideOf, nowMin: number): BrokenRule | undefined {
  return of === 'person'
    ? personTaken(house.people[at]!.person.id, a, b, sideOf, house.travel)
    : unitTaken(house.units[at]!, a, b, sideOf, nowMin)
}
