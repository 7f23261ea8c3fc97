import { Temporal } from '../../time.ts'
import type { Choices } from '../choices.ts'
import { READY_IN } from '../defaults.ts'
import { dayAt, isHoliday, type Setting, weekdayFrom } from '../setting.ts'

/**
 * The days of the finish, counted backward from the booked date. Common practice: the panel a week or so before, the
 * stability test on a Monday so that its 72 h end on a working day, cold and fining before it.
 */
export interface FinishDates {
  readonly finishOn: Temporal.PlainDate
  readonly booked: boolean
  readonly releaseOn: Temporal.PlainDate
  readonly filterOn: Temporal.PlainDate
  readonly so2On: Temporal.PlainDate
  readonly panelOn: Temporal.PlainDate
  readonly testOn: Temporal.PlainDate
  /** A first test long before, for base wine that rests clear. */
  readonly restTestOn?: Temporal.PlainDate
  readonly rackFiningOn: Temporal.PlainDate
  readonly coldOn: Temporal.PlainDate
  readonly fineOn: Temporal.PlainDate
  readonly trialOn: Temporal.PlainDate
  /** Out of wood, or parts put together. */
  readonly mergeOn: Temporal.PlainDate
  /** The wine is racked clean before the cold, or stands in the cold on its bentonite. */
  readonly order: 'apart' | 'together'
  readonly coldH: number
}

/** Weeks that a sparkling base rests clear between stability and tirage. Common practice. */
const BASE_RESTS_WEEKS = 9
const LAST_BEFORE_MERGE_DAYS = 45

export function finishDates(s: Setting, dryMin: number): FinishDates {
  const c = s.choices
  const dryOn = dayAt(s, dryMin)
  const booked = c.finishOn !== undefined
  const finishOn = booked ? Temporal.PlainDate.from(c.finishOn!) : usualFinish(s, dryOn)
  const panelOn = panelBefore(s, finishOn)
  const testOn = weekdayFrom(panelOn.subtract({ days: 10 }), 1)
  const restTestOn = testOn.subtract({ weeks: BASE_RESTS_WEEKS })
  const early =
    c.finish === 'tirage' && after(restTestOn.subtract({ days: 27 }), dryOn.add({ days: LAST_BEFORE_MERGE_DAYS }))
  const order = orderOf(c)
  const common = {
    finishOn,
    booked,
    releaseOn: workdayBefore(s, finishOn),
    so2On: so2Before(s, finishOn),
    panelOn,
    testOn,
    order,
  }
  if (c.finish === 'blend') return { ...common, ...allOn(finishOn) }
  if (early)
    return { ...common, restTestOn, filterOn: restTestOn.add({ days: 10 }), ...togetherFrom(restTestOn, 7, 216) }
  const filterOn = workdayBefore(s, finishOn)
  if (order === 'together') return { ...common, filterOn, ...togetherFrom(testOn, 0, 180) }
  return {
    ...common,
    filterOn,
    rackFiningOn: testOn.subtract({ days: 14 }),
    coldOn: testOn.subtract({ days: 14 }),
    fineOn: testOn.subtract({ days: 25 }),
    trialOn: testOn.subtract({ days: 28 }),
    mergeOn: testOn.subtract({ days: 35 }),
    coldH: 312,
  }
}

/** A lot that ends in a blend rests until then; what is fined and filtered is the blend. */
const allOn = (on: Temporal.PlainDate) => ({
  panelOn: on,
  filterOn: on,
  rackFiningOn: on,
  coldOn: on,
  fineOn: on,
  trialOn: on,
  mergeOn: on,
  coldH: 0,
})

/** Sterile wine is racked off its bentonite before the cold; what is only polished may stand on it (both are in use, common practice). */
const orderOf = (c: Choices): FinishDates['order'] => (c.filtration === 'sterile' ? 'apart' : 'together')

function togetherFrom(testOn: Temporal.PlainDate, longerDays: number, coldH: number) {
  const before = (days: number) => testOn.subtract({ days })
  return {
    rackFiningOn: before(4),
    coldOn: before(longerDays > 0 ? 14 : 12),
    fineOn: before(longerDays > 0 ? 18 : 14),
    trialOn: before(longerDays > 0 ? 21 : 18),
    mergeOn: before(longerDays > 0 ? 27 : 20),
    coldH,
  }
}

/** A Monday 7 to 9 days before; else the working day 8 days before. */
function panelBefore(s: Setting, finishOn: Temporal.PlainDate): Temporal.PlainDate {
  for (const days of [7, 8, 9]) {
    const on = finishOn.subtract({ days })
    if (on.dayOfWeek === 1 && !isHoliday(s, on)) return on
  }
  return workdayBefore(s, finishOn.subtract({ days: 7 }))
}

function so2Before(s: Setting, finishOn: Temporal.PlainDate): Temporal.PlainDate {
  const on = finishOn.subtract({ days: 4 })
  if (on.dayOfWeek === 6) return on.subtract({ days: 1 })
  return on.dayOfWeek === 7 || isHoliday(s, on) ? workdayFrom(s, on) : on
}

export function workdayBefore(s: Setting, on: Temporal.PlainDate): Temporal.PlainDate {
  let day = on.subtract({ days: 1 })
  while (day.dayOfWeek > 5 || isHoliday(s, day)) day = day.subtract({ days: 1 })
  return day
}

function workdayFrom(s: Setting, on: Temporal.PlainDate): Temporal.PlainDate {
  let day = on
  while (day.dayOfWeek > 5 || isHoliday(s, day)) day = day.add({ days: 1 })
  return day
}

/** When nobody booked a day: the style's month, or later where the lees ask for it; a Tuesday. */
function usualFinish(s: Setting, dryOn: Temporal.PlainDate): Temporal.PlainDate {
  const ready = READY_IN[s.choices.style]
  const north = s.cellar.hemisphere === 'north'
  const ripe = dryOn.add({ days: Math.round(s.choices.fineLeesMonths * 30.4) + 49 })
  const monthOn = Temporal.PlainDate.from({ year: s.lot.pickOn.year, month: 1, day: 15 }).add({
    years: ready.yearsAfter,
    months: ready.month - 1 + (north ? 6 : 0),
  })
  return weekdayFrom(after(monthOn, ripe) ? monthOn : ripe, 2)
}

export const after = (a: Temporal.PlainDate, b: Temporal.PlainDate): boolean => Temporal.PlainDate.compare(a, b) > 0
