import { malicGoneWhen, type When } from '../forecast.ts'
import { series } from '../repeat.ts'
import type { Body } from '../rooms.ts'
import { DAY, endMinOf, HOUR, isDone, type Setting } from '../setting.ts'
import { joined, keyOf, NOTHING, type Part, work } from '../work.ts'

export interface Malolactic {
  readonly part: Part
  /** First SO2 waits for this. Absent: nothing to wait for. */
  readonly done?: string
  readonly gone?: When
}

export const wantsMalolactic = (s: Setting): boolean =>
  s.choices.malolactic !== 'refuse' && s.choices.endPoint !== 'stop'

/** Bacteria put in or waited for, warmth, weekly malic, a declared end. */
export function malolactic(s: Setting, bodies: readonly Body[], dryKey: string, dryMin: number): Malolactic {
  if (!wantsMalolactic(s)) return { part: NOTHING }
  const kind = s.choices.malolactic
  const added = kind !== 'allow'
  const through = bodies.filter((b) => b.malolactic !== false)
  const parts = through.length > 0 ? through : bodies
  const holds = parts.flatMap((b) => [b.hold, ...laterHolds(s, bodies, b)])
  const vessels = parts.reduce((n, b) => n + b.room.count, 0)
  const co = kind === 'co' && s.choices.yeast !== 'ambient'
  const inoculated = keyOf(s, 'mlf-inoculate')
  const dryEndMin = endMinOf(s, dryKey, dryMin, HOUR)
  const fromMin = added && !co ? endMinOf(s, inoculated, dryEndMin + DAY, HOUR) : dryEndMin
  const gone = malicGoneWhen(s, co ? fromMin - 10 * DAY : fromMin, added ? 'added' : 'wild')
  const spread = gone.known
    ? undefined
    : { earlierMin: gone.likelyMin - gone.earliestMin, laterMin: gone.latestMin - gone.likelyMin }
  const byVessel = parts.length < bodies.length
  const share = kind === 'partial' && !byVessel ? ` to ${Math.round((s.choices.malolacticShare ?? 1) * 100)} %` : ''
  const checks = series(s, {
    step: 'mlf-check',
    after: [
      added && !co
        ? { key: inoculated, minMin: 5 * DAY, maxMin: 10 * DAY, strength: 'soft' }
        : { key: dryKey, minMin: 5 * DAY, maxMin: 14 * DAY, strength: 'soft' },
    ],
    firstMin: fromMin + 7 * DAY,
    untilMin: gone.likelyMin + DAY,
    everyDays: () => 7,
    lateDays: 7,
    most: 40,
    options: () => ({ sizes: { samples: 1 }, from: holds, detail: 'composite; each barrel from 0.3 g/L' }),
  })
  const lastCheck = checks.works.at(-1)?.task.key
  const part = joined(
    added
      ? work(s, 'mlf-inoculate', {
          after: [
            co
              ? {
                  key: keyOf(s, 'inoculate'),
                  minMin: 30 * HOUR,
                  maxMin: 3 * DAY,
                  strength: 'soft',
                  reason: 'co-culture 48 h after yeast',
                }
              : { key: dryKey, maxMin: 3 * DAY },
            co ? undefined : { key: keyOf(s, 'mlf-warm'), from: 'start', strength: 'soft' },
          ],
          sizes: { vessels },
          to: holds,
          doses: [],
          detail: `culture by packet volume${share}; pH ${s.fruit.pH}, at 18-20 C`,
        })
      : undefined,
    work(s, 'mlf-warm', {
      after: [{ key: dryKey, maxMin: 3 * DAY, strength: 'soft' }],
      elapsedMin: Math.max(DAY, Math.round((gone.likelyMin - dryEndMin) / HOUR) * HOUR),
      from: holds,
      forecast: true,
      // Kept warm by a trickle or a warm room for weeks: no share of the loop is set aside.
      without: ['warm-water'],
      detail: `18-20 C until malic is gone${share}`,
    }),
    checks,
    work(s, 'mlf-done', {
      after: [lastCheck ? { key: lastCheck, maxMin: 10 * DAY } : { key: dryKey }],
      releaseMin: isDone(s, keyOf(s, 'mlf-done')) ? undefined : gone.likelyMin,
      forecast: !gone.known,
      spread,
      from: holds,
      detail: kind === 'partial' && !byVessel ? `share reached${share}` : 'malic under 0.1 g/L',
    }),
  )
  return { part, done: keyOf(s, 'mlf-done'), gone }
}

/** Where a racked or pressed part goes on with it; the plan shows the vessel of the day. */
function laterHolds(s: Setting, bodies: readonly Body[], body: Body): readonly string[] {
  const moved = s.choices.processing === 'on-skins' ? bodies : bodies.filter((b) => !b.room.barrels)
  const i = moved.indexOf(body)
  return i < 0 ? [] : [`${s.lot.code}/store${i === 0 ? '' : `-${i + 1}`}`]
}
