import type { FermentForecast } from '../../cellar/fermentation.ts'
import { sugarOfBrix } from '../../cellar/sugar.ts'
import { ammonium, nutrientSplit } from '../doses.ts'
import { hourAt } from '../forecast.ts'
import { rounds, TWICE } from '../repeat.ts'
import type { Body } from '../rooms.ts'
import { DAY, HOUR, isDone, type Setting, wallNear } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, work } from '../work.ts'
import { outageRounds } from './outage.ts'
import { sum } from './settling.ts'

/** Sugar left when the density falls under 1000 and under 1010 kg/m3; about, by hydrometer tables (common practice). */
export const SUGAR_AT = { density1000: 12, density1010: 32, density1005: 22 } as const

interface Course {
  readonly anchorKey: string
  readonly startMin: number
  readonly firstAfter?: string
  readonly untilMin: number
}

/** Rounds, food, set points and the warm end, along the forecast. */
export function followCourse(
  s: Setting,
  bodies: readonly Body[],
  ferment: FermentForecast,
  course: Course,
): { readonly part: Part; readonly last?: string } {
  const c = s.choices
  const at = (sugarGPerL: number) => course.startMin + (hourAt(ferment, sugarGPerL) ?? 20 * 24) * HOUR
  const ambient = course.firstAfter !== undefined
  const density = rounds(s, {
    step: 'check-ferment',
    anchor: { key: course.anchorKey, endMin: course.startMin, minMin: ambient ? 0 : 8 * HOUR },
    after: course.firstAfter,
    slots: TWICE,
    wants: (atMin, slotIndex) =>
      atMin >= (ambient ? course.startMin + 72 * HOUR : 0) &&
      (slotIndex === 0 || (atMin >= course.startMin + DAY && atMin <= at(SUGAR_AT.density1000))),
    untilMin: course.untilMin,
    options: () => ({
      sizes: { vessels: sampled(bodies) },
      from: bodies.map((b) => b.hold),
      detail: bodies.some((b) => b.room.barrels) ? 'one barrel in five, all on Mondays' : '',
    }),
  })
  const tank = bodies.find((b) => !b.room.barrels && b.room.jacket)
  const start = sugarOfBrix(Math.min(44, Math.max(8, s.fruit.brix)))
  return {
    last: density.last,
    part: joined(
      density.part,
      outageRounds(s, bodies, course.anchorKey, course.untilMin),
      feeding(s, bodies, course, at((start * 2) / 3)),
      tank && c.fermentTempC <= 18
        ? work(s, 'set-cooling', {
            after: [{ key: course.anchorKey, minMin: 8 * HOUR }],
            volumeL: tank.volumeL,
            sizes: { sugarGPerLPerDay: Math.max(5, ...ferment.sugarFallPerDay.slice(0, 10)) },
            from: [tank.hold],
            bias: { nearMin: wallNear(s, course.startMin, 2, 8 * HOUR) },
            detail: `to ${c.fermentTempC} C once it moves`,
          })
        : undefined,
      tank && c.endPoint !== 'stop' && (c.fermentEndTempC ?? 0) > c.fermentTempC
        ? work(s, 'end-warm', {
            after: density.last ? [{ key: course.anchorKey, minMin: 2 * DAY }] : [],
            from: [tank.hold],
            bias: { nearMin: wallNear(s, Math.max(s.nowMin, at(SUGAR_AT.density1005)), 0, 17 * HOUR) },
            forecast: true,
            detail: `density under 1005: set point ${c.fermentEndTempC} C`,
          })
        : undefined,
    ),
  }
}

/** One barrel in five stands for its row; every tank is read. */
const sampled = (bodies: readonly Body[]): number =>
  sum(bodies.map((b) => (b.room.barrels ? Math.ceil(b.room.count / 5) : b.room.count)))

function feeding(s: Setting, bodies: readonly Body[], course: Course, thirdMin: number): Part {
  const c = s.choices
  const [first, second] = nutrientSplit(s.fruit.yanMgPerL, c.nutrientTargetMgPerL)
  if (c.nutrientTargetMgPerL <= 0 || (first === 0 && (c.yeast === 'ambient' || isDone(s, keyOf(s, 'feed-2')))))
    return NOTHING
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const from = bodies.map((b) => b.hold)
  const skip = `none needed: ${s.fruit.yanMgPerL} mg/L is above the wanted ${c.nutrientTargetMgPerL}; skip with this reason`
  return joined(
    work(s, 'feed-1', {
      after: [
        { key: course.anchorKey, minMin: 18 * HOUR, maxMin: (course.firstAfter ? 150 : 64) * HOUR, strength: 'soft' },
      ],
      volumeL,
      from,
      doses: [ammonium(first, volumeL)],
      bias: { nearMin: wallNear(s, course.startMin + (course.firstAfter ? 84 : 36) * HOUR, 0, 9 * HOUR) },
      detail: first > 0 ? `${first} mg/L N, when 2-3 Brix are gone` : skip,
    }),
    second > 0
      ? work(s, 'feed-2', {
          after: [{ key: keyOf(s, 'feed-1'), minMin: 12 * HOUR, maxMin: 6 * DAY, strength: 'soft' }],
          volumeL,
          from,
          doses: [ammonium(second, volumeL)],
          bias: { nearMin: wallNear(s, thirdMin, 0, 9 * HOUR) },
          detail: `${second} mg/L N and air, at one third of the sugar; past half it does no good`,
        })
      : undefined,
  )
}
