import type { TroubleKind } from '../facts.ts'
import { startSugarGPerL, sugarOf } from '../forecast.ts'
import { DAY, HOUR, isDone, minOf, type Setting } from '../setting.ts'
import { keyOf } from '../work.ts'
import { wantsMalolactic } from './malolactic.ts'
import { STILL_WEEKS, startedItself } from './noticed.ts'

/** One piece of work that a report or a reading asks for. */
export interface Raised {
  readonly step: string
  readonly detail: string
  /** Wanted from and until, minutes after the report. `day`: until the cellar's midnight. */
  readonly afterMin: number
  readonly untilMin: number | 'day'
  readonly when?: (s: Setting) => boolean
}

const isDry = (s: Setting): boolean => isDone(s, keyOf(s, 'check-dry'))
const notDry = (s: Setting): boolean => !isDry(s)
/** Sugar above a third of what the fruit had, by whatever was read last: nutrient still helps. Unknown counts as above. */
const overOneThird = (s: Setting): boolean => notDry(s) && (lastSugar(s) ?? Infinity) > startSugarGPerL(s) / 3
const lastSugar = (s: Setting): number | undefined =>
  s.readings.flatMap((r) => sugarOf(r, Math.min(44, Math.max(8, s.fruit.brix))) ?? []).at(-1)
const underOneThird = (s: Setting): boolean => notDry(s) && !overOneThird(s)
/** No SO2 goes into wine that waits for its bacteria. */
const takesSo2 = (s: Setting): boolean => !wantsMalolactic(s) || isDone(s, keyOf(s, 'mlf-done'))

/** Juice that was pressed, is not racked yet and does not ferment by itself. */
function stillSettles(s: Setting): boolean {
  const pressed = s.ticks.get(keyOf(s, 'press'))?.done
  return !isDone(s, keyOf(s, 'rack-juice')) && !(pressed && startedItself(s, minOf(s, pressed.at)) !== undefined)
}

const looks = (detail: string): Raised => ({ step: 'check-ullage', detail, afterMin: 0, untilMin: 2 * HOUR })
const LOST = 'litres lost and the cause written; top up by plan; juice in the drain: waste note'
const WASHED: Raised = { step: 'clean-line', detail: 'wash down what ran over', afterMin: 0, untilMin: 'day' }
const FILLED: Raised = {
  step: 'top-tank',
  detail: 'the level fell: fill up and gas',
  afterMin: 0,
  untilMin: DAY,
  when: isDry,
}

const HOT: readonly Raised[] = [
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
]

/**
 * What each report raises, as cases 11 to 21 of the practice have it: started by itself (11), cloudy (12), hot (14),
 * slow (15), smell of rotten egg (16), foam and spill (17), malolactic unasked (18), leak (20), vinegar (21). Hours where
 * the practice names none ("now", "today") are common practice.
 */
export const RAISES: Readonly<Record<TroubleKind, readonly Raised[]>> = {
  hot: HOT,
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
      when: underOneThird,
    },
    {
      step: 'starter',
      detail: 'rescue culture in steps: wait if malolactic has begun, SO2 and rack first; the winemaker decides',
      afterMin: DAY,
      untilMin: 3 * DAY,
      when: underOneThird,
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
    looks(LOST),
    { step: 'check-ferment', detail: 'temperature and density after the foam', afterMin: 0, untilMin: 2 * HOUR },
    WASHED,
    FILLED,
  ],
  spill: [looks(LOST), WASHED, FILLED],
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
    { step: 'adjust-so2', detail: 'SO2 now, in this vessel alone', afterMin: 0, untilMin: 'day', when: takesSo2 },
    { step: 'taste-all', detail: 'decide: filter, keep apart or let go', afterMin: DAY, untilMin: 7 * DAY },
  ],
  malolactic: [0, 7, 14, 21].map((days) => ({
    step: 'mlf-check',
    detail: 'it began by itself: malic weekly; let it finish or block it, the winemaker decides',
    afterMin: days * DAY,
    untilMin: (days + 1) * DAY,
  })),
  // Settling itself is cut short.
  started: [],
  cloudy: [
    {
      step: 'dose-juice',
      detail: 'enzyme again, or float it, or accept the cloud; the winemaker decides',
      afterMin: 0,
      untilMin: 4 * HOUR,
      when: stillSettles,
    },
    {
      step: 'check-clarity',
      detail: 'is it clear now: 48 h of settling is the ceiling',
      afterMin: 11 * HOUR,
      untilMin: 13 * HOUR,
      when: stillSettles,
    },
  ],
  machine: [],
  other: [],
}

/** What readings raise by themselves: too hot (case 14), malic that stands still (case 19). */
export const READ_AS_TROUBLE: Readonly<Record<'hot' | 'still', readonly Raised[]>> = {
  hot: HOT,
  still: [
    { step: 'stir-lees', detail: 'lees up, warm and full', afterMin: 0, untilMin: 2 * DAY },
    {
      step: 'mlf-inoculate',
      detail: `malic has not moved in ${STILL_WEEKS} weeks: adapted culture; the winemaker decides`,
      afterMin: 0,
      untilMin: 5 * DAY,
    },
    ...[0, 30].map((days) => ({
      step: 'check-va',
      detail: 'monthly while malolactic stands still',
      afterMin: days * DAY,
      untilMin: (days + 2) * DAY,
    })),
  ],
}
