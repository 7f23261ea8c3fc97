import { firstSo2MgPerL, freeSo2For, sulphite } from '../doses.ts'
import { series } from '../repeat.ts'
import type { Body } from '../rooms.ts'
import { DAY, HOUR, latest, type Setting, startMinOf, wallMin } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, startsId, type Wait, work } from '../work.ts'
import type { FinishDates } from './finish-dates.ts'
import type { Malolactic } from './malolactic.ts'
import type { Rest } from './rest.ts'
import { sum } from './settling.ts'

const WORKDAY = startsId([[420, 1020]], undefined, false)

interface First {
  readonly part: Part
  readonly key?: string
  readonly atMin: number
}

/** Hangs on dry where malolactic is refused, on malic gone where it is wanted, on the press where skins had it. */
export function firstSo2(
  s: Setting,
  rest: Rest,
  bodies: readonly Body[],
  rackKey: string | undefined,
  endedMin: number,
  malolactic: Malolactic = rest.malolactic,
): First {
  const c = s.choices
  if (rest.kind === 'stopped') return { part: NOTHING, key: keyOf(s, 'stop-so2'), atMin: endedMin }
  if (c.firstSo2 === 'never') return { part: NOTHING, atMin: endedMin }
  const count = malolactic.done === undefined && rest.malolactic.done !== undefined ? 2 : 1
  const key = keyOf(s, 'post-so2', count)
  const volumeL = sum(bodies.map((b) => b.volumeL))
  const wood = bodies.filter((b) => b.room.barrels)
  const barrels = sum(wood.map((b) => b.room.count))
  const pH = latest(s, 'pH')?.value ?? s.fruit.pH
  const mgPerL = firstSo2MgPerL(c.molecularSo2MgPerL, pH)
  const dose = sulphite(
    mgPerL,
    volumeL,
    barrels > 0
      ? `${((mgPerL * sum(wood.map((b) => b.volumeL))) / 570 / barrels).toFixed(1)} g a barrel`
      : `target free ${Math.round(freeSo2For(c.molecularSo2MgPerL, pH))} mg/L`,
  )
  const dryWait: Wait = {
    key: rest.endedKey,
    minMin: c.firstSo2 === 'at-once' ? 0 : DAY,
    maxMin: (rackKey ? 11 : 5) * DAY,
    strength: 'soft',
  }
  const after: Wait[] = malolactic.done
    ? [
        {
          key: malolactic.done,
          maxMin: 3 * DAY,
          strength: rest.kind === 'pressed' ? 'soft' : 'hard',
          reason: 'naked when malic is gone',
        },
        { key: rest.endedKey },
      ]
    : [rest.kind === 'pressed' ? { key: rest.endedKey, maxMin: 5 * DAY, strength: 'soft' } : dryWait]
  const goneMin = malolactic.gone?.likelyMin ?? endedMin
  const part = work(s, 'post-so2', {
    count,
    after: [
      ...after,
      rackKey
        ? {
            key: rackKey,
            ...(malolactic.done ? {} : { maxMin: DAY }),
            strength: 'soft',
            reason: 'same visit as the racking',
          }
        : undefined,
    ],
    volumeL,
    sizes: { barrels },
    from: bodies.map((b) => b.hold),
    doses: [dose],
    forecast: true,
    detail: `${mgPerL} mg/L; pK 1.81, pH ${pH}`,
  })
  return { part, key, atMin: startMinOf(s, key, Math.max(goneMin, endedMin) + 2 * DAY) }
}

/** SO2 after dry, and the watch on malic, for the part that keeps it. */
export function refused(
  s: Setting,
  rest: Rest,
  bodies: readonly Body[],
  rackKey: string | undefined,
  endedMin: number,
): First {
  const so2 = firstSo2(s, rest, bodies, rackKey, endedMin, { part: NOTHING })
  const holds = bodies.map((b) => b.hold)
  const untilMin = wallMin(s, rest.dates.mergeOn, 8 * HOUR)
  return {
    ...so2,
    part: joined(
      so2.part,
      blockMalolactic(s, rest, so2.key, holds, endedMin, untilMin, REFUSED_FROM),
      checkSo2(s, so2, holds, endedMin, rest.dates, REFUSED_FROM),
    ),
  }
}

/** Repeats of the part that refuses are counted from here, apart from those of the rest. */
const REFUSED_FROM = 101

export function blockMalolactic(
  s: Setting,
  rest: Rest,
  so2Key: string | undefined,
  holds: readonly string[],
  endedMin: number,
  untilMin: number,
  from = 1,
): Part {
  const key = keyOf(s, 'mlf-block')
  const first: Wait = { key, minMin: 6 * DAY, maxMin: 16 * DAY, strength: 'soft' }
  return joined(
    work(s, 'mlf-block', {
      after: [
        { key: rest.endedKey, maxMin: 11 * DAY, strength: 'soft' },
        so2Key && so2Key !== rest.endedKey ? { key: so2Key, maxMin: DAY, strength: 'soft' } : undefined,
      ],
      from: holds,
      forecast: true,
      // The same visit as the first SO2, morning or not.
      starts: WORKDAY,
      detail: `${s.choices.maturationC} C, ${s.choices.molecularSo2MgPerL} mg/L molecular`,
    }),
    series(s, {
      step: 'mlf-check',
      from,
      after: [first],
      firstMin: endedMin + 12 * DAY,
      untilMin,
      everyDays: () => 28,
      lateDays: 7,
      options: () => ({ from: holds, detail: 'watch on malic that was refused' }),
    }),
  )
}

export function checkSo2(
  s: Setting,
  so2: First,
  holds: readonly string[],
  endedMin: number,
  dates: FinishDates,
  from = 1,
): Part {
  if (!so2.key) return NOTHING
  return series(s, {
    step: 'check-so2',
    from,
    after: [{ key: so2.key, minMin: 6 * DAY, maxMin: 14 * DAY, strength: 'soft' }],
    firstMin: Math.max(so2.atMin, endedMin) + 7 * DAY,
    untilMin: wallMin(s, dates.panelOn, 0),
    everyDays: () => 28,
    lateDays: 14,
    options: () => ({ from: holds, detail: 'free and total; under the target by 5 mg/L: adjust' }),
  })
}
