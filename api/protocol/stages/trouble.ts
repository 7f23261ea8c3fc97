import type { Trouble, TroubleKind } from '../facts.ts'
import { DAY, dayAt, HOUR, isDone, latest, minOf, type Setting, wallMin } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, type WorkOptions, work } from '../work.ts'

/** Counts from here on are work that a report raised: no plan of its own reaches that far. */
export const RAISED_FROM = 8_001

/** Nobody did it in a month: it is not work any more. */
const FORGOTTEN_DAYS = 30

/** One piece of work that a report asks for. */
interface Raised {
  readonly step: string
  readonly detail: string
  /** Wanted from and until, minutes after the report. `day`: until the cellar's midnight. */
  readonly afterMin: number
  readonly untilMin: number | 'day'
  readonly when?: (s: Setting) => boolean
}

const isDry = (s: Setting): boolean => isDone(s, keyOf(s, 'check-dry'))
const notDry = (s: Setting): boolean => !isDry(s)
/** Sugar above a third of what the fruit had: nutrient still helps. Unknown counts as above. */
const overOneThird = (s: Setting): boolean => notDry(s) && (latest(s, 'brix')?.value ?? Infinity) > s.fruit.brix / 3

/**
 * What each report raises, as cases 14 to 21 of the practice have it: hot (14), slow (15), smell of rotten egg (16),
 * foam and spill (17), malolactic unasked (18), leak (20), vinegar (21). Hours where the practice names none
 * ("now", "today") are common practice.
 */
const RAISES: Readonly<Record<TroubleKind, readonly Raised[]>> = {
  hot: [
    {
      step: 'set-cooling',
      detail: 'too hot: set point down now, look at the neighbours; barrels: cool the room, wet them, move racks',
      afterMin: 0,
      untilMin: HOUR,
    },
    {
      step: 'check-ferment',
      detail: 'second reading, two hours after the first',
      afterMin: 2 * HOUR,
      untilMin: 3 * HOUR,
    },
  ],
  slow: [
    { step: 'check-ferment', detail: 'slow: read again, count what one day brought', afterMin: 0, untilMin: 12 * HOUR },
    {
      step: 'feed-2',
      detail: 'slow and over one third of the sugar: nutrient or warmth, the winemaker decides',
      afterMin: 0,
      untilMin: DAY,
      when: overOneThird,
    },
    {
      step: 'check-va',
      detail: 'slow and under one third: volatile acid and living yeast before any rescue',
      afterMin: 0,
      untilMin: DAY,
      when: (s) => notDry(s) && !overOneThird(s),
    },
  ],
  smell: [
    {
      step: 'check-ferment',
      detail: 'smell 0 to 5 on a second round',
      afterMin: 2 * HOUR,
      untilMin: 12 * HOUR,
      when: notDry,
    },
    {
      step: 'treat-h2s',
      detail: 'before one third: nutrient and air; smell 0 to 5 before and after',
      afterMin: 0,
      untilMin: 'day',
      when: notDry,
    },
    {
      step: 'treat-h2s',
      detail: 'after dryness: off the lees within 24 h; copper only by bench trial, none within 7 days of bottling',
      afterMin: 0,
      untilMin: 'day',
      when: isDry,
    },
    { step: 'trial-fining', detail: 'bench copper trial', afterMin: 0, untilMin: DAY, when: isDry },
  ],
  foam: [
    {
      step: 'check-ullage',
      detail: 'litres lost and the cause written; top up by plan; juice in the drain: waste note',
      afterMin: 0,
      untilMin: 2 * HOUR,
    },
    { step: 'check-ferment', detail: 'temperature and density after the foam', afterMin: 0, untilMin: 2 * HOUR },
  ],
  spill: [
    {
      step: 'check-ullage',
      detail: 'litres lost and the cause written; top up by plan; juice in the drain: waste note',
      afterMin: 0,
      untilMin: 2 * HOUR,
    },
  ],
  leak: [
    {
      step: 'rack-out',
      detail: 'empty it today into a sound one or a keg; count the litres again; mark it for repair',
      afterMin: 0,
      untilMin: 'day',
    },
    { step: 'check-leaks', detail: 'the neighbours of the one that leaks', afterMin: 0, untilMin: DAY },
  ],
  vinegar: [
    {
      step: 'check-va',
      detail: 'out of the group: no topping from it; trace what was topped from it since the last good reading',
      afterMin: 0,
      untilMin: DAY,
    },
  ],
  malolactic: [
    {
      step: 'mlf-check',
      detail: 'it began by itself: malic weekly; let it finish or block it, the winemaker decides',
      afterMin: 0,
      untilMin: DAY,
    },
  ],
  machine: [],
  other: [],
}

/** The work that the reports on a lot ask for, in the vessel they name, else where the lot lies. */
export function troubled(s: Setting, made: Part): Part {
  const counts = new Map<string, number>()
  const holds = made.holds.filter((h) => !h.key.includes('/press-')).map((h) => h.key)
  return joined(
    NOTHING,
    ...s.troubles.flatMap((trouble) =>
      RAISES[trouble.kind].map((raised) => {
        const count = counts.get(raised.step) ?? RAISED_FROM
        counts.set(raised.step, count + 1)
        const key = keyOf(s, raised.step, count)
        const told = s.ticks.has(key)
        const fits = raised.when?.(s) ?? true
        if (!told && (!fits || minOf(s, trouble.at) < s.nowMin - FORGOTTEN_DAYS * DAY)) return undefined
        return work(s, raised.step, { count, ...optionsOf(s, raised, trouble, holds) })
      }),
    ),
  )
}

function optionsOf(s: Setting, raised: Raised, trouble: Trouble, holds: readonly string[]): WorkOptions {
  const atMin = minOf(s, trouble.at)
  const dueMin = raised.untilMin === 'day' ? wallMin(s, dayAt(s, atMin).add({ days: 1 }), 0) : atMin + raised.untilMin
  return {
    detail: raised.detail,
    releaseMin: atMin + raised.afterMin,
    dueMin,
    starts: null,
    without: ['chiller', 'pump', 'lab', 'forklift', 'filter'],
    ...(trouble.vesselId ? { at: [trouble.vesselId] } : { from: holds }),
  }
}
