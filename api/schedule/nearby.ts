import type { Booked } from './booked.ts'
import type { ClaimBook } from './claims.ts'
import { LOOK_BACK_DAYS } from './dayreasons.ts'
import { eachDay } from './days.ts'
import type { Ledger } from './ledger.ts'
import type { House } from './model.ts'

/** A vessel that was left this long before is named by what fills it; the filling itself takes a while. */
const BESIDE_MIN = 2 * 1440

/**
 * Keys of tasks and holds whose causes may name one of these bookings: those that stand in its span or just beside it.
 * People are looked at together, since whoever is free is a cause for all; units each by itself.
 */
export function nearby(house: House, ledger: Ledger, spans: readonly Booked[]): ReadonlySet<string> {
  const keys = new Set<string>()
  const take = (key: string) => {
    if (key !== '') keys.add(key)
    return false
  }
  const crews: [number, number][] = []
  const onTheWay = house.travel?.longestMin ?? 0
  const uses = new Map<number, [number, number][]>()
  for (const { of, at, booking } of spans) {
    if (of === 'person') crews.push([booking.fromMin - 1 - onTheWay, booking.toMin + 1 + onTheWay])
    else {
      const reach = BESIDE_MIN + Math.max(house.units[at]!.turnaroundMin, ledger.units[at]!.longestCleanMin())
      const list = uses.get(at) ?? []
      uses.set(at, list)
      list.push([booking.fromMin - reach, booking.toMin + reach])
    }
  }
  for (const [from, to] of joinedSpans(crews))
    for (const book of ledger.people) book.touching(from, to, (b) => take(b.key))
  for (const [at, list] of uses)
    for (const [from, to] of joinedSpans(list)) ledger.units[at]!.touching(from, to, (b) => take(b.key))
  return keys
}

/**
 * Keys of work that is planned to the day whose causes may name one of these days: the day before, or a few more, may
 * have been too full for it.
 *
 * @param stirred days on which claims came or went
 */
export function dailyNear(
  house: House,
  claims: ClaimBook,
  moved: readonly Booked[],
  stirred: ReadonlySet<number>,
): ReadonlySet<string> {
  const keys = new Set<string>()
  if (claims.days().length === 0) return keys
  const days = new Set(stirred)
  for (const { of, at, booking } of moved)
    if (of === 'person' || house.units[at]!.single)
      eachDay(house.days, booking.fromMin, booking.toMin, (day) => days.add(day))
  const near = new Set([...days].flatMap((day) => Array.from({ length: LOOK_BACK_DAYS + 2 }, (_, k) => day + k)))
  for (const day of near) for (const c of claims.on(day)) keys.add(c.key)
  return keys
}

function joinedSpans(spans: [number, number][]): readonly (readonly [number, number])[] {
  const joined: [number, number][] = []
  for (const [from, to] of spans.sort((a, b) => a[0] - b[0])) {
    const last = joined.at(-1)
    if (last && from <= last[1]) last[1] = Math.max(last[1], to)
    else joined.push([from, to])
  }
  return joined
}
