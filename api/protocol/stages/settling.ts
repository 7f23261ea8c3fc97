import { perL } from '../doses.ts'
import { litres } from '../figures.ts'
import { type Body, holdOf } from '../rooms.ts'
import { endMinOf, HOUR, type Setting, sizesOf, volumeAfter, wallNear } from '../setting.ts'
import { settleLoss } from '../volumes.ts'
import { joined, keyOf, type Part, type Wait, type WorkOptions, work } from '../work.ts'
import { cleaned, cleanTanks } from './cleaning.ts'
import { startedItself, staysCloudy } from './noticed.ts'
import type { Juice } from './pressing.ts'

/** Clear juice on its way into the fermenting vessels. */
export interface Must {
  readonly part: Part
  /** One racking a fraction; the litres that arrive. */
  readonly racked: readonly { readonly key: string; readonly volumeL: number; readonly label: string }[]
  /** What yeast waits for. */
  readonly ready: readonly Wait[]
  readonly readyMin: number
  /** When it was seen to ferment before its yeast. */
  readonly startedMin?: number
}

/** The least; racking waits for the morning. Practice: 12-48 h from the end of pressing (S34, S40). */
const SETTLE_H = { 'cold-settle': 18, 'short-settle': 15, flotation: 0, centrifuge: 0, none: 0 } as const
/** The longest that juice settles, h: 12-48 h from the end of pressing (S34, S40). Change 12 of the practice. */
const CEILING_H = 48
/** Juice that is not clear is given so much longer, h. Practice: look every 12 h. */
const LONGER_H = 12
/** Juice that began by itself is racked at once: within two hours, common practice. */
const RACK_WITHIN_H = 2
/** Juice colder than this is warmed before yeast (S73: 12-15 C limits). */
const YEAST_FROM_C = 12
const CRUSHED_WARMER_C = 1
/** Flotation wants 15 C or more, and fails under 12. Common practice. */
const FLOATS_AT_C = 15

/** As it leaves the press: as cool as the fruit, the cold room or the soak has made it. */
function pressedC(s: Setting): number {
  const c = s.choices
  const soaks = c.skinContactH > 0 && c.processing !== 'whole-bunch' && c.processing !== 'on-skins'
  const cooledC = c.fruitCooling === 'cold-room' ? c.fruitCoolToC + 2 : Infinity
  return Math.min(s.fruit.fruitTempC, cooledC, soaks ? c.skinContactC : Infinity) + CRUSHED_WARMER_C
}

/** Acid wanting: +1 g/L tartaric before yeast. Common practice for ripe aromatic fruit. */
const acidWanted = (s: Setting): boolean => s.fruit.pH > 3.45 && s.fruit.acidGPerLTartaric < 6.2

export const settleC = (s: Setting): number =>
  s.choices.clarification === 'cold-settle'
    ? Math.min(12, s.choices.fruitCoolToC)
    : s.choices.clarification === 'flotation'
      ? 15
      : 12

/** Litres that leave the settling vessels, one figure a body. */
export const rackedVolumes = (s: Setting, bodies: readonly Body[]): readonly number[] =>
  bodies.map((b, i) => volumeAfter(s, keyOf(s, 'rack-juice', i + 1), b.volumeL * (1 - settleLoss(s.choices))))

export function settling(
  s: Setting,
  juice: Juice,
  into: readonly Body[],
  intoOf: (i: number) => readonly string[],
): Must {
  const c = s.choices
  const clears = c.clarification !== 'none'
  const floats = c.clarification === 'flotation' || c.clarification === 'centrifuge'
  const juiceC = pressedC(s)
  const chills = clears && !floats && juiceC - settleC(s) >= 3
  const startedMin = clears ? startedItself(s, juice.endMin) : undefined
  const cloudyMin = startedMin === undefined ? staysCloudy(s, juice.endMin) : undefined
  const settleH = settleHours(juice.endMin, c.settleH ?? SETTLE_H[c.clarification], startedMin, cloudyMin)
  const totalL = juice.bodies.reduce((sum, b) => sum + b.volumeL, 0)
  const holds = juice.bodies.map((b) => b.hold)
  const doseMany = c.so2CrushMgPerL > 0 || c.clarification === 'cold-settle' || floats
  const lastPress: Wait[] = juice.presses.map((key) => ({
    key,
    // With several loads nobody knows beforehand which press ends last, so none of them sets a limit.
    ...(juice.presses.length === 1 ? { maxMin: 2 * HOUR } : {}),
    strength: juice.presses.length > 1 ? 'soft' : 'hard',
  }))
  const rackedL = rackedVolumes(s, juice.bodies)
  const clearedMin = juice.endMin + (floats ? 8 : settleH) * HOUR
  const rackGuess = startedMin ?? (clears ? rackMorning(s, clearedMin) : juice.endMin + HOUR)
  const rackKeys = juice.bodies.map((_, i) => keyOf(s, 'rack-juice', i + 1))
  const warmsToFloat = c.clarification === 'flotation' && FLOATS_AT_C - juiceC >= 2
  const clearC = floats ? Math.max(FLOATS_AT_C, juiceC) : chills ? settleC(s) : juiceC
  const warms = clears && clearC < YEAST_FROM_C && c.yeast !== 'ambient'
  const adjusts = acidWanted(s)
  const part = joined(
    chills
      ? work(s, 'chill-juice', {
          after: lastPress,
          crewOf: juice.presses.at(-1),
          sizes: { volumeL: totalL, deltaC: juiceC - settleC(s) },
          volumeL: totalL,
          detail: `${litres(totalL)} from ${juiceC} to ${settleC(s)} C`,
        })
      : undefined,
    clears && !floats
      ? work(s, 'settle', {
          after: [
            ...lastPress,
            chills ? { key: keyOf(s, 'chill-juice'), from: 'start', maxMin: 4 * HOUR, strength: 'soft' } : undefined,
          ],
          sizes: { settleH },
          elapsedMin: settleH * HOUR,
          crewOf: juice.presses.at(-1),
          volumeL: totalL,
          to: holds,
          starts: null,
          detail: `to ${c.clarityNtu} NTU at ${settleC(s)} C; look every 12 h`,
        })
      : undefined,
    warmsToFloat
      ? work(s, 'warm-juice', {
          count: 2,
          crewOf: juice.presses.at(-1),
          after: juice.presses.map((key): Wait => ({ key })),
          sizes: { volumeL: totalL, deltaC: FLOATS_AT_C - juiceC },
          volumeL: totalL,
          detail: `${juiceC} to ${FLOATS_AT_C} C: cold juice does not float`,
        })
      : undefined,
    floats
      ? work(s, 'float', {
          after: [
            ...juice.presses.map((key): Wait => ({ key })),
            warmsToFloat ? { key: keyOf(s, 'warm-juice', 2), maxMin: 12 * HOUR, strength: 'soft' } : undefined,
            ...(doseMany
              ? [
                  {
                    key: lastDose(s, juice),
                    minMin: 2 * HOUR,
                    reason: 'the enzyme has to break the pectin first',
                  },
                ]
              : []),
          ],
          volumeL: totalL,
          to: holds,
          doses: [perL('gelatine', 0.07, totalL)],
          detail: `negative pectin test, 15 C; to ${c.clarityNtu} NTU`,
        })
      : undefined,
    clears && startedMin === undefined
      ? work(s, 'check-clarity', {
          after: [
            floats
              ? { key: keyOf(s, 'float'), maxMin: 4 * HOUR, strength: 'soft' }
              : {
                  key: keyOf(s, 'settle'),
                  from: 'start',
                  minMin: Math.max(8, settleH - 4) * HOUR,
                  maxMin: 72 * HOUR,
                  strength: 'soft',
                },
          ],
          ...(floats ? { starts: null } : {}),
          detail: `target ${c.clarityNtu} NTU`,
        })
      : undefined,
    cleanTanks(s, 'ferment', into, rackGuess),
    ...juice.bodies.map((body, i) =>
      work(s, 'rack-juice', {
        count: i + 1,
        after: [
          floats ? { key: keyOf(s, 'float'), minMin: 30, maxMin: 16 * HOUR, strength: 'soft' } : undefined,
          clears && !floats
            ? { key: keyOf(s, 'settle'), maxMin: 18 * HOUR, reason: 'juice that waits longer starts by itself' }
            : undefined,
          clears ? { key: keyOf(s, 'check-clarity'), strength: 'soft' } : undefined,
          ...(clears ? [] : juice.presses.map((key): Wait => ({ key, minMin: 15 }))),
          cleaned(s, 'ferment'),
        ],
        volumeL: body.volumeL,
        ...(i > 0 || floats || !clears || startedMin !== undefined ? { starts: null } : {}),
        ...(clears && !floats && startedMin === undefined ? { bias: { nearMin: rackGuess } } : {}),
        ...rackedBetween(juice.endMin, startedMin, cloudyMin),
        from: [body.hold],
        to: intoOf(i),
        detail: `${label(body)}${litres(rackedL[i]!)} clear, ${litres(body.volumeL - rackedL[i]!)} lees${
          startedMin === undefined ? '' : '; it ferments by itself: rack it now'
        }`,
      }),
    ),
    work(s, 'juice-panel', {
      after: rackKeys.map((key) => ({ key, strength: 'soft' as const, maxMin: 30 * HOUR })),
      detail: 'full panel before yeast',
    }),
    adjusts
      ? work(s, 'adjust-juice', {
          after: [{ key: keyOf(s, 'juice-panel'), maxMin: 24 * HOUR }],
          volumeL: sum(rackedL),
          doses: [perL('tartaric acid', 1, sum(rackedL))],
          detail: `pH ${s.fruit.pH}, acid ${s.fruit.acidGPerLTartaric} g/L: +1 g/L`,
        })
      : undefined,
    warms
      ? work(s, 'warm-juice', {
          crewOf: rackKeys.at(-1),
          after: rackKeys.map((key) => ({ key, maxMin: 12 * HOUR, strength: 'soft' as const })),
          sizes: { volumeL: sum(rackedL), deltaC: 14 - clearC },
          volumeL: sum(rackedL),
          detail: `${clearC} to 14 C`,
        })
      : undefined,
    { works: [], links: [], holds: juice.bodies.map((b, i) => holdOf(s, b, { task: rackKeys[i]!, edge: 'end' })) },
  )
  const { heatKW } = sizesOf(s)
  const warmH = warms ? (sum(rackedL) * 1.08 * 3.6 * (14 - clearC)) / (3600 * heatKW) : 0
  const waitMost = Math.max(settleC(s) < 10 ? 24 : 12, warmH + 6)
  return {
    part,
    racked: juice.bodies.map((b, i) => ({ key: rackKeys[i]!, volumeL: rackedL[i]!, label: b.label })),
    ready: [
      ...rackKeys.map((key): Wait => ({ key, maxMin: (waitMost + 6) * HOUR, reason: 'clear juice starts by itself' })),
      ...(adjusts ? [{ key: keyOf(s, 'adjust-juice'), minMin: 30, maxMin: 24 * HOUR, strength: 'soft' as const }] : []),
      ...(warms ? [{ key: keyOf(s, 'warm-juice'), maxMin: 24 * HOUR, strength: 'soft' as const }] : []),
    ],
    readyMin: Math.max(...rackKeys.map((key) => endMinOf(s, key, rackGuess, 2 * HOUR))),
    ...(startedMin === undefined ? {} : { startedMin }),
  }
}

/** As chosen; cut short where it ferments by itself; twelve hours more where it stays cloudy, up to the ceiling. */
function settleHours(endMin: number, chosenH: number, startedMin?: number, cloudyMin?: number): number {
  if (startedMin !== undefined) return Math.max(0.25, (startedMin - endMin) / HOUR)
  if (cloudyMin === undefined) return chosenH
  return Math.max(chosenH, Math.min(CEILING_H, (cloudyMin - endMin) / HOUR + LONGER_H))
}

/** Racked at once where it ferments by itself; where it stays cloudy not before it was given longer, nor past the ceiling. */
function rackedBetween(endMin: number, startedMin?: number, cloudyMin?: number): WorkOptions {
  if (startedMin !== undefined) return { releaseMin: startedMin, dueMin: startedMin + RACK_WITHIN_H * HOUR }
  if (cloudyMin === undefined) return {}
  const ceilingMin = endMin + CEILING_H * HOUR
  return { releaseMin: Math.min(cloudyMin + LONGER_H * HOUR, ceilingMin), dueMin: ceilingMin }
}

/** Ten in the morning of the day it is clear, or at once where that is later in the morning; else the next morning. */
function rackMorning(s: Setting, clearedMin: number): number {
  const tenMin = wallNear(s, clearedMin, 0, 10 * HOUR)
  if (clearedMin <= tenMin) return tenMin
  return clearedMin <= tenMin + 2 * HOUR ? clearedMin : wallNear(s, clearedMin, 1, 7 * HOUR)
}

function lastDose(s: Setting, juice: Juice): string {
  const once = s.choices.pickMode === 'hand' && s.choices.processing === 'whole-bunch'
  return keyOf(s, 'dose-juice', once ? 1 : juice.presses.length)
}

export const settleTanks = (s: Setting, juice: Juice, pressMin: number): Part =>
  cleanTanks(s, 'settle', juice.bodies, pressMin)

const label = (b: Body): string => (b.label ? `${b.label}: ` : '')
export const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0)
