import { perHL } from '../doses.ts'
import { litres } from '../figures.ts'
import { rounds, TWICE } from '../repeat.ts'
import type { Body } from '../rooms.ts'
import { DAY, HOUR, isDone, type Setting, wallNear } from '../setting.ts'
import { joined, keyOf, type Part, work } from '../work.ts'
import { type Must, sum } from './settling.ts'

/** Juice that began by itself gets its yeast within hours: change 11 of the practice; eight, common practice. */
const YEAST_WITHIN_H = 8

/** Yeast for wine that lies in wood and was to start by itself. */
const LATE_PITCH = 9

export function pitch(
  s: Setting,
  must: Must,
  bodies: readonly Body[],
  filled: string | undefined,
): { readonly part: Part; readonly key: string; readonly guessMin: number } {
  const c = s.choices
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const hurry = must.startedMin
  const guessMin = hurry === undefined ? wallNear(s, must.readyMin, 0, 18 * HOUR) : must.readyMin
  const starter = c.yeast === 'vineyard-starter'
  const key = keyOf(s, 'inoculate')
  const first = c.yeast === 'non-saccharomyces' ? 'dry non-Saccharomyces yeast' : 'active dry yeast'
  const setC = c.fermentTempC
  const part = joined(
    starter
      ? work(s, 'starter', {
          bias: { nearMin: wallNear(s, guessMin, -6, 8 * HOUR) },
          releaseMin: wallNear(s, guessMin, -8, 6 * HOUR),
          volumeL: volumeL * 0.02,
          detail: `${litres(volumeL * 0.02)} of clean fruit, fed daily`,
        })
      : undefined,
    work(s, 'inoculate', {
      after: [...must.ready, starter ? { key: keyOf(s, 'starter'), maxMin: 6 * DAY, strength: 'soft' } : undefined],
      sizes: { vessels: sum(bodies.filter((b) => !b.room.barrels).map((b) => b.room.count)) || 1 },
      volumeL,
      // Juice for wood is pitched in the tank that holds it.
      to: [...bodies.map((b) => b.hold), ...(filled ? [`${s.lot.code}/juice`] : [])],
      doses: [
        starter
          ? undefined
          : perHL(first, c.yeastGPerHL, 'g', volumeL, {
              kind: 'source',
              refs: ['S29', 'S30'],
              note: '20-25 g/hL, to 50 in hard juice',
            }),
      ],
      detail: `${starter ? 'starter stirred in' : `water at 37-40 C; set point ${setC + (setC < 15 ? 2 : 0)} C`}${
        hurry === undefined ? '' : `; it began by itself: yeast within ${YEAST_WITHIN_H} h`
      }`,
      ...(hurry === undefined ? {} : { starts: null, dueMin: hurry + YEAST_WITHIN_H * HOUR }),
    }),
    filled && c.yeast !== 'ambient' && isDone(s, filled) && !isDone(s, key) && isDone(s, keyOf(s, 'watch-start'))
      ? work(s, 'inoculate', {
          count: LATE_PITCH,
          sizes: { vessels: sum(bodies.map((b) => b.room.count)) || 1 },
          volumeL,
          to: bodies.map((b) => b.hold),
          releaseMin: s.nowMin,
          dueMin: s.nowMin + DAY,
          doses: [
            perHL(first, c.yeastGPerHL, 'g', volumeL, {
              kind: 'source',
              refs: ['S29', 'S30'],
              note: '20-25 g/hL, to 50 in hard juice',
            }),
          ],
          detail: 'it did not start by itself: pitched in the wood',
        })
      : undefined,
    c.yeast === 'non-saccharomyces'
      ? work(s, 'inoculate', {
          count: 2,
          after: [
            { key, minMin: 40 * HOUR, maxMin: 84 * HOUR, strength: 'soft', reason: 'after 2-3 Brix or 48 to 72 h' },
          ],
          volumeL,
          to: bodies.map((b) => b.hold),
          doses: [perHL('active dry yeast', c.yeastGPerHL, 'g', volumeL)],
          detail: 'selected yeast after the first',
        })
      : undefined,
  )
  return { part, key: filled && s.choices.yeast === 'ambient' ? filled : key, guessMin }
}

/** Wild yeast is watched twice a day; at 96 h without a drop the winemaker decides. */
export function watchStart(
  s: Setting,
  anchorKey: string,
  startMin: number,
  bodies: readonly Body[],
): { readonly part: Part; readonly last?: string } {
  return rounds(s, {
    step: 'watch-start',
    anchor: { key: anchorKey, endMin: startMin },
    slots: TWICE,
    wants: () => true,
    untilMin: startMin + 72 * HOUR,
    options: () => ({
      elapsedMin: 15,
      sizes: { vessels: Math.min(5, sum(bodies.map((b) => b.room.count))) },
      from: bodies.map((b) => b.hold),
      detail: 'no drop of 2 kg/m3 by 96 h: warm, starter or pitch',
    }),
  })
}
