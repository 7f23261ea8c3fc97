import { dayOf } from '../../time.ts'
import type { Body } from '../rooms.ts'
import { DAY, isDone, minOf, type Setting, wallMin } from '../setting.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { hourOfYear } from './trouble.ts'

/** Counts of these readings: the hour of the year they fall in is added. */
const OUTAGE_FROM = 30_001
/** Beside the rounds of 07:00 and 17:00: every two hours while somebody is on shift. */
const HOURS = [9, 11, 13, 15, 19, 21] as const
/** Cold that is away for longer is no breakdown any more: the lot's own rounds are read. */
const MOST_DAYS = 3

/** Cooled ferments are read every two hours while a chiller is away (change 9 of the practice). */
export function outageRounds(s: Setting, bodies: readonly Body[], anchorKey: string, untilMin: number): Part {
  const cooled = bodies.filter((b) => !b.room.barrels && b.room.jacket)
  if (cooled.length === 0 || !isDone(s, anchorKey)) return joined()
  return joined(
    ...[...hoursAway(s, untilMin)].map(([count, atMin]) =>
      work(s, 'check-ferment', {
        count,
        sizes: { vessels: cooled.length },
        from: cooled.map((b) => b.hold),
        starts: null,
        bias: { nearMin: atMin },
        releaseMin: atMin - 30,
        dueMin: atMin + 60,
        detail: 'the cold is away: every two hours until it is back',
      }),
    ),
  )
}

/** The readings wanted or told: minutes by count. An hour in which several are away, or are away again, is one reading. */
function hoursAway(s: Setting, untilMin: number): ReadonlyMap<number, number> {
  const hours = new Map<number, number>()
  for (const { fromAt, toAt } of s.machines.filter((m) => m.kind === 'chiller').flatMap((m) => m.bookings)) {
    const fromMin = minOf(s, fromAt)
    const toMin = Math.min(minOf(s, toAt), fromMin + MOST_DAYS * DAY, untilMin)
    const first = dayOf(fromAt, s.cellar.zone)
    for (let day = 0; day <= MOST_DAYS; day++) {
      for (const hour of HOURS) {
        const atMin = wallMin(s, first.add({ days: day }), hour * 60)
        const count = OUTAGE_FROM + hourOfYear(s.startAt.add({ minutes: atMin }))
        const told = s.ticks.has(keyOf(s, 'check-ferment', count))
        // A missing round stays missing.
        if (told || (atMin >= fromMin && atMin <= toMin && atMin + 90 >= s.nowMin)) hours.set(count, atMin)
      }
    }
  }
  return hours
}
