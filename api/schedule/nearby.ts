import type { Booked } from './booked.ts'
import type { Ledger } from './ledger.ts'

const DAY_MIN = 1440

/**
 * Keys of tasks and holds whose causes may name one of these bookings: those that begin just after one ends or end just
 * before one begins. People are looked at together, since whoever is free is a cause for all; units each by itself.
 */
export function nearby(ledger: Ledger, spans: readonly Booked[]): ReadonlySet<string> {
  const keys = new Set<string>()
  const take = (key: string) => {
    if (key !== '') keys.add(key)
    return false
  }
  const crews: [number, number][] = []
  for (const { of, at, booking } of spans) {
    if (of === 'person') crews.push([booking.fromMin - 1, booking.toMin + 1])
    else {
      const reach = booking.kind === 'hold' ? DAY_MIN : 1 + booking.cleanMin
      ledger.units[at]!.touching(booking.fromMin - reach, booking.fromMin + reach, (b) => take(b.key))
      ledger.units[at]!.touching(booking.toMin - reach, booking.toMin + reach, (b) => take(b.key))
    }
  }
  for (const [from, to] of joinedSpans(crews))
    for (const book of ledger.people) book.touching(from, to, (b) => take(b.key))
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
