import type { Booked } from './booked.ts'
import { type Book, bookOf } from './bookings.ts'
import { bookFixed, type Stood } from './desk.ts'
import type { House } from './model.ts'
import type { BrokenRule } from './types.ts'
import { personBroken, type SideOf, unitBroken } from './unitrules.ts'

const DAY_MIN = 1440

/** Everything that is booked in a cellar, and which bookings want the same. */
export interface Ledger extends Stood {
  readonly enter: (booked: readonly Booked[]) => void
  readonly strike: (booked: readonly Booked[]) => void
  /** Looks again at every person and unit whose bookings have changed since the last look. */
  readonly judge: (sideOf: SideOf, nowMin: number) => void
  readonly broken: () => readonly BrokenRule[]
}

export function ledgerOf(house: House): Ledger {
  const people = house.people.map(bookOf)
  const units = house.units.map(bookOf)
  const worked = house.people.map(() => new Map<number, number>())
  const stale = { person: new Set<number>(), unit: new Set<number>() }
  const found = { person: new Map<number, readonly BrokenRule[]>(), unit: new Map<number, readonly BrokenRule[]>() }
  bookFixed(house, units)

  const bookAt = ({ of, at }: Booked): Book => (of === 'person' ? people : units)[at]!
  const work = ({ of, at, booking }: Booked, sign: number) => {
    stale[of].add(at)
    if (of !== 'person') return
    const day = Math.floor(booking.fromMin / DAY_MIN)
    worked[at]!.set(day, (worked[at]!.get(day) ?? 0) + sign * (booking.toMin - booking.fromMin))
  }
  const keep = (of: 'person' | 'unit', at: number, broken: readonly BrokenRule[]) => {
    if (broken.length > 0) found[of].set(at, broken)
    else found[of].delete(at)
  }

  return {
    people,
    units,
    workedMin: (p, day) => worked[p]!.get(day) ?? 0,
    enter: (booked) => {
      for (const b of booked) {
        bookAt(b).add(b.booking)
        work(b, 1)
      }
    },
    strike: (booked) => {
      for (const b of booked) {
        bookAt(b).drop(b.booking)
        work(b, -1)
      }
    },
    judge: (sideOf, nowMin) => {
      for (const p of stale.person) keep('person', p, personBroken(house.people[p]!.person.id, people[p]!.list, sideOf))
      for (const u of stale.unit) keep('unit', u, unitBroken(house.units[u]!, units[u]!.list, sideOf, nowMin))
      stale.person.clear()
      stale.unit.clear()
    },
    broken: () => [...[...found.person.values()].flat(), ...[...found.unit.values()].flat()],
  }
}
