import type { Temporal } from '../../time.ts'
import { DAY, dayAt, minOf, type Setting, wallMin } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, type WorkOptions, work } from '../work.ts'
import { hotReadings, malicStill } from './noticed.ts'
import { RAISES, type Raised, READ_AS_TROUBLE } from './raises.ts'
import { isOfMachine } from './stores.ts'

/** Counts from here on are work that a report raised: no plan of its own reaches that far. */
export const RAISED_FROM = 8_001
/** Of work that readings raise; the hour of the year they were taken in is added, so that a key keeps its meaning. */
const READ_FROM = 20_001

/** Nobody did it in a month: it is not work any more. */
const FORGOTTEN_DAYS = 30
/** What nobody did about a hot reading by the next day was overtaken by other readings. */
const HOT_DAYS = 1

/** Something that went wrong: from when, where, and how long it is worth work. */
interface Event {
  readonly atMin: number
  /** Vessel ids; none: wherever the lot lies. */
  readonly at: readonly string[]
  readonly days: number
}

/** The work that reports and readings of a lot ask for, in the vessel they name, else where the lot lies. */
export function troubled(s: Setting, made: Part): Part {
  const holds = made.holds.filter((h) => !isOfMachine(h.key)).map((h) => h.key)
  const raised = (list: readonly Raised[], event: Event, countOf: (step: string) => number) =>
    list.map((one) => {
      const count = countOf(one.step)
      const told = s.ticks.has(keyOf(s, one.step, count))
      const fits = one.when?.(s) ?? true
      const old = event.atMin + one.afterMin < s.nowMin - event.days * DAY
      if (!told && (!fits || old)) return undefined
      return work(s, one.step, { count, ...optionsOf(s, one, event, holds) })
    })
  const nextCount = counter(RAISED_FROM)
  const still = malicStill(s)
  return joined(
    NOTHING,
    ...s.troubles.flatMap((t) => {
      const at = t.vesselId ? [t.vesselId] : []
      return raised(RAISES[t.kind], { atMin: minOf(s, t.at), at, days: FORGOTTEN_DAYS }, nextCount)
    }),
    ...[...hotHours(s)].flatMap(([count, event]) => raised(READ_AS_TROUBLE.hot, event, () => count)),
    ...(still
      ? raised(
          READ_AS_TROUBLE.still,
          { atMin: minOf(s, still.takenAt), at: [], days: FORGOTTEN_DAYS },
          counter(READ_FROM + hourOfYear(still.takenAt)),
        )
      : []),
  )
}

/** Hot readings by count: those of one hour ask for one piece of work, in all the vessels they name. */
function hotHours(s: Setting): ReadonlyMap<number, Event> {
  const hours = new Map<number, Event>()
  for (const r of hotReadings(s)) {
    const count = READ_FROM + hourOfYear(r.takenAt)
    const before = hours.get(count)
    const at = r.vesselId ? [r.vesselId] : []
    hours.set(
      count,
      before ? { ...before, at: together(before.at, at) } : { atMin: minOf(s, r.takenAt), at, days: HOT_DAYS },
    )
  }
  return hours
}

/** Vessels of both; none where one of them speaks of the whole lot. */
const together = (a: readonly string[], b: readonly string[]): readonly string[] =>
  a.length > 0 && b.length > 0 ? [...new Set([...a, ...b])] : []

/** The next free count of each step, from a first one on. */
function counter(from: number): (step: string) => number {
  const counts = new Map<string, number>()
  return (step) => {
    const count = counts.get(step) ?? from
    counts.set(step, count + 1)
    return count
  }
}

/** 0 to 8,783. */
export function hourOfYear(at: Temporal.Instant): number {
  const utc = at.toZonedDateTimeISO('UTC')
  return (utc.dayOfYear - 1) * 24 + utc.hour
}

function optionsOf(s: Setting, raised: Raised, event: Event, holds: readonly string[]): WorkOptions {
  const { atMin } = event
  const dueMin = raised.untilMin === 'day' ? wallMin(s, dayAt(s, atMin).add({ days: 1 }), 0) : atMin + raised.untilMin
  return {
    detail: raised.detail,
    releaseMin: atMin + raised.afterMin,
    dueMin,
    starts: null,
    without: ['chiller', 'pump', 'lab', 'forklift', 'filter'],
    ...(event.at.length > 0 ? { at: event.at } : { from: holds }),
  }
}
