import type { Unit } from '../schedule/types.ts'
import { minutesFrom, type Temporal } from '../time.ts'
import type { Booking, Facts, Machine } from './facts.ts'
import { SHARED } from './work.ts'

/** How many pieces of work one bench or hot-water unit takes at once. Common practice. */
const AT_ONCE: Readonly<Record<string, number>> = { lab: 3, 'hot-water': 3 }

/** Machines and vessels as the planner sees them. */
export function unitsOf(facts: Facts, startAt: Temporal.Instant): readonly Unit[] {
  const booked = (bookings: readonly Booking[]) =>
    bookings.map((b) => ({ fromMin: minutesFrom(startAt, b.fromAt), toMin: minutesFrom(startAt, b.toAt), why: b.why }))
  return [
    ...facts.machines.map(
      (m): Unit => ({ id: m.id, pool: m.kind, capacity: capacityOf(m), booked: booked(m.bookings) }),
    ),
    ...facts.vessels
      .filter((v) => v.state !== 'out-of-service')
      .map((v): Unit => ({ id: v.id, pool: 'vessel', capacity: 1, booked: booked(v.bookings) })),
  ]
}

const capacityOf = (m: Machine): number => (SHARED.has(m.kind) ? m.capacity * (AT_ONCE[m.kind] ?? 1) : 1)
