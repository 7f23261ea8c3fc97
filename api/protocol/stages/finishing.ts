import type { Setting } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, startsId, type Wait, work } from '../work.ts'
import type { Aged } from './ageing.ts'
import { intoBlend, merge } from './blending.ts'
import { chill, fine, finedInCold } from './fining.ts'
import type { FinishDates } from './finish-dates.ts'
import { type Flow, near } from './finish-flow.ts'
import { filterCoarse, releaseChain, soonAfter } from './release.ts'

const TEST_MONDAYS = startsId([[480, 720]], [1], false)

/** Out of wood or together, fined, cold, tested, filtered, released: counted back from the booked day. */
export function finishing(s: Setting, aged: Aged, dates: FinishDates): Part {
  const c = s.choices
  const start: Flow = { part: NOTHING, bodies: aged.bodies, ready: aged.ready.map((key) => ({ key })) }
  if (c.finish === 'blend') return intoBlend(s, start, dates)
  const merged = merge(s, start, dates)
  const fines = c.proteinStability === 'by-test'
  const chills = c.tartrateStability === 'cold' || c.tartrateStability === 'seeded-cold'
  const fined = fines
    ? dates.order === 'together' && chills
      ? finedInCold(s, merged, dates)
      : fine(s, merged, dates)
    : merged
  const cold = chills && !(fines && dates.order === 'together') ? chill(s, fined, dates) : fined
  const tested = fines || c.tartrateStability !== 'none' ? test(s, cold, dates) : cold
  const filteredEarly = dates.restTestOn && c.filtration !== 'none' ? filterCoarse(s, tested, dates) : tested
  return releaseChain(s, filteredEarly, dates, dates.restTestOn === undefined)
}

export function test(s: Setting, flow: Flow, dates: FinishDates): Flow {
  const early = dates.restTestOn
  const first = work(s, 'test-stability', {
    after: [
      ...flow.ready.map(
        (w): Wait => ({
          key: w.key,
          ...soonAfter(w.key),
        }),
      ),
    ],
    starts: TEST_MONDAYS,
    bias: near(s, early ?? dates.testOn, 9),
    detail: 'heat and cold; a Monday, so that 72 h end on a working day',
  })
  const again = early
    ? work(s, 'test-stability', {
        count: 2,
        after: [{ key: keyOf(s, 'test-stability') }],
        starts: TEST_MONDAYS,
        bias: near(s, dates.testOn, 9),
        detail: 'again: a test older than three weeks does not count',
      })
    : undefined
  return { part: joined(flow.part, first, again), bodies: flow.bodies, ready: [{ key: keyOf(s, 'test-stability') }] }
}
