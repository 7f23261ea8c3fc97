import { perL } from '../doses.ts'
import { series } from '../repeat.ts'
import type { Body } from '../rooms.ts'
import { DAY, endMinOf, HOUR, type Setting, wallMin, wallNear } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, startsId, work } from '../work.ts'
import { type Rest, racksGross } from './rest.ts'
import { sum } from './settling.ts'

const FRIDAYS = startsId([[600, 720]], [5], false)

/** Topping, stirring and VA of wine in wood. */
export function inWood(s: Setting, rest: Rest, wood: readonly Body[], endedMin: number, outMin: number): Part {
  if (wood.length === 0) return stirTank(s, rest, endedMin, outMin)
  const c = s.choices
  const barrels = sum(wood.map((b) => b.room.count))
  const casks = wood.filter((b) => !b.room.barrels).length
  const named = [
    ...(barrels > casks ? [`${barrels - casks} barrels`] : []),
    ...(casks > 0 ? [casks > 1 ? `${casks} casks` : 'the cask'] : []),
  ].join(' and ')
  const holds = wood.map((b) => b.hold)
  const startMin = endedMin
  const stirred = stirEvery(s)
  const stopMin = outMin - 28 * DAY
  return joined(
    series(s, {
      step: 'top-barrels',
      after: [
        { key: rest.endedKey, minMin: 0, maxMin: rest.kind === 'pressed' ? 14 * DAY : 3 * DAY, strength: 'soft' },
      ],
      firstMin: startMin + DAY,
      untilMin: outMin - 3 * DAY,
      everyDays: (i) => (i < 4 ? 7 : 21),
      lateDays: 7,
      options: () => ({ sizes: { barrels }, from: holds, detail: `${named}; source written down` }),
    }),
    stirred
      ? series(s, {
          step: 'stir-lees',
          after: [{ key: rest.endedKey, minMin: 6 * DAY, maxMin: 10 * DAY, strength: 'soft' }],
          firstMin: startMin + 7 * DAY,
          untilMin: stopMin,
          everyDays: stirred,
          lateDays: 7,
          options: () => ({
            sizes: { barrels },
            from: holds,
            detail:
              c.stirring === 'by-taste'
                ? 'by taste; before topping'
                : 'before topping; stops four weeks before racking out',
          }),
        })
      : undefined,
    series(s, {
      step: 'check-va',
      after: [{ key: rest.endedKey, minMin: 14 * DAY, maxMin: 42 * DAY, strength: 'soft' }],
      firstMin: startMin + 28 * DAY,
      untilMin: outMin,
      everyDays: () => 28,
      lateDays: 14,
      options: () => ({ from: holds, detail: 'composite of the row' }),
    }),
  )
}

function stirEvery(s: Setting): ((i: number) => number) | undefined {
  const { stirring, stirringWeeklyFor } = s.choices
  if (stirring === 'none') return undefined
  if (stirring === 'weekly') return (i) => (i < stirringWeeklyFor ? 7 : 14)
  if (stirring === 'two-weekly') return () => 14
  return () => (stirring === 'monthly' ? 28 : 21)
}

/** In a tank the lees are pumped or mixed; a rod does not reach. */
function stirTank(s: Setting, rest: Rest, endedMin: number, outMin: number): Part {
  const every = stirEvery(s)
  if (!every) return NOTHING
  return series(s, {
    step: 'stir-lees',
    after: [{ key: rest.endedKey, minMin: 6 * DAY, maxMin: 24 * DAY, strength: 'soft' }],
    firstMin: endedMin + 14 * DAY,
    untilMin: outMin - 28 * DAY,
    everyDays: every,
    lateDays: 7,
    options: () => ({
      sizes: { barrels: 12 },
      from: rest.bodies.map((b) => b.hold),
      detail: 'by pump or mixer, under gas',
    }),
  })
}

export function tastings(s: Setting, rest: Rest, bodies: readonly Body[], endedMin: number, untilMin: number): Part {
  if (s.choices.fineLeesMonths < 3) return NOTHING
  return series(s, {
    step: 'taste-all',
    after: [{ key: rest.endedKey, minMin: 20 * DAY, strength: 'soft' }],
    firstMin: endedMin + 45 * DAY,
    untilMin: untilMin - 10 * DAY,
    everyDays: () => 28,
    lateDays: 14,
    options: (i) => ({
      from: bodies.map((b) => b.hold),
      ...(i === 0 ? { bias: { nearMin: wallNear(s, endedMin + 45 * DAY, 0, 10 * HOUR) } } : {}),
      starts: FRIDAYS,
      detail: 'lees, oak, where it goes next',
    }),
  })
}

/** Chips 2 to 6 weeks, staves longer; by taste. Common practice. */
const PIECES_DAYS = 42

export function oakPieces(s: Setting, rest: Rest, bodies: readonly Body[], endedMin: number): Part {
  if (s.choices.oak !== 'pieces') return NOTHING
  const holds = bodies.map((b) => b.hold)
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const moves = bodies.length > 1 || bodies.some((b) => b.room.barrels)
  const lastMin = wallMin(s, (moves ? rest.dates.mergeOn : rest.dates.trialOn).subtract({ days: 3 }), 10 * HOUR)
  const inKey = keyOf(s, 'oak-in')
  return joined(
    work(s, 'oak-in', {
      after: [
        { key: rest.endedKey, minMin: 2 * DAY, maxMin: 30 * DAY, strength: 'soft' },
        racksGross(s) && rest.kind === 'dry' ? { key: keyOf(s, 'rack-gross'), strength: 'soft' } : undefined,
      ],
      volumeL,
      from: holds,
      doses: [
        perL('oak pieces', s.choices.oakPiecesGPerL ?? 1.5, volumeL, {
          kind: 'source',
          refs: ['S7', 'S8'],
          note: '1-4 g/L',
        }),
      ],
      forecast: true,
      starts: null,
      detail: 'in nets, tied to the door',
    }),
    work(s, 'oak-out', {
      after: [{ key: inKey, minMin: 14 * DAY, maxMin: 180 * DAY, strength: 'soft' }],
      from: holds,
      bias: { nearMin: Math.min(endMinOf(s, inKey, endedMin + 4 * DAY, HOUR) + PIECES_DAYS * DAY, lastMin) },
      forecast: true,
      detail: 'by taste, weekly from half time',
    }),
  )
}
