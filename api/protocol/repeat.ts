import { DAY, dayAt, HOUR, isDone, type Setting, startMinOf, wallMin } from './setting.ts'
import { joined, keyOf, NOTHING, type Part, startsId, type Wait, type WorkOptions, work } from './work.ts'

export interface Series {
  readonly step: string
  /** First count; other series of the same step use other counts. */
  readonly from?: number
  /** What the first one waits for. */
  readonly after: readonly (Wait | undefined)[]
  readonly firstMin: number
  readonly untilMin: number
  readonly everyDays: (index: number) => number
  /** How much later than due it may be; soft. */
  readonly lateDays: number
  readonly options: (index: number) => WorkOptions
  readonly most?: number
}

/**
 * One rule, many events: the next counts from the last one done, not from the last one planned.
 * One that was passed over is left out once a later one is done.
 */
export function series(s: Setting, rule: Series): Part {
  const from = rule.from ?? 1
  const most = rule.most ?? 60
  const keyAt = (i: number) => keyOf(s, rule.step, from + i)
  const lastDone = Array.from({ length: most }, (_, i) => i).findLast((i) => isDone(s, keyAt(i))) ?? -1
  const untilMin = Math.min(rule.untilMin, s.repeatUntilMin)
  let part: Part = NOTHING
  let prev: string | undefined
  let at = rule.firstMin
  for (let i = 0; i < most; i++) {
    const key = keyAt(i)
    const done = isDone(s, key)
    if (!done && i < lastDone) continue
    at = startMinOf(s, key, Math.max(at, s.nowMin))
    if (!done && at > untilMin) break
    const every = rule.everyDays(i)
    const chained: Wait | undefined =
      prev === undefined
        ? undefined
        : {
            key: prev,
            from: 'start',
            minMin: rule.everyDays(i - 1) * DAY - 5 * 60,
            maxMin: (rule.everyDays(i - 1) + rule.lateDays) * DAY,
            strength: 'soft',
            reason: `counts from the last one done; ${rule.everyDays(i - 1)} days`,
          }
    const after = chained ? [chained] : rule.after
    part = joined(part, work(s, rule.step, { forecast: !done, ...rule.options(i), count: from + i, after }))
    prev = key
    at += every * DAY
  }
  return part
}

export interface Rounds {
  readonly step: string
  /** The moment the rounds count from: yeast in, barrels filled. */
  readonly anchor: { readonly key: string; readonly endMin: number; readonly minMin?: number }
  /** The first one comes after this. */
  readonly after?: string
  /** Another series has the days before. */
  readonly fromMin?: number
  /** Twice a day between these, once a day (mornings) else, until the end. */
  readonly twiceFromMin: number
  readonly twiceUntilMin: number
  readonly untilMin: number
  readonly options: (count: number) => WorkOptions
}

const MORNING = startsId([[420, 510]], undefined, true)
/** From 16:30, so that the day shift can walk it where there is no late one. */
const EVENING = startsId([[990, 1110]], undefined, true)

/**
 * Density rounds stay on the clock: 07:00 and 17:00 of local days, whatever was missed before.
 * Count 1 is the first morning after the anchor, 2 its evening; mornings alone keep odd counts, so a count keeps its day.
 */
export function rounds(s: Setting, rule: Rounds): { readonly part: Part; readonly last?: string } {
  const anchorOn = dayAt(s, rule.anchor.endMin)
  const anchored = isDone(s, rule.anchor.key)
  let part: Part = NOTHING
  let prev: { readonly key: string; readonly atMin: number } | undefined
  for (let day = 1; day <= 90; day++) {
    for (const slot of [0, 1] as const) {
      const on = anchorOn.add({ days: day })
      const atMin = wallMin(s, on, slot === 0 ? 420 : 1020)
      const count = 2 * (day - 1) + slot + 1
      const key = keyOf(s, rule.step, count)
      const done = isDone(s, key)
      if (!done && atMin < (rule.fromMin ?? -Infinity)) continue
      const over = atMin > rule.untilMin && prev !== undefined
      if (!done && over) continue
      if (!done && slot === 1 && (atMin < rule.twiceFromMin || atMin > rule.twiceUntilMin)) continue
      // A missing round stays missing: nobody can read yesterday's density today.
      if (!done && anchored && atMin + 90 < s.nowMin) continue
      const own = rule.options(count)
      // Counted from the anchor, not chained: a round nobody can walk must not push the others.
      const soonest = Math.max(rule.anchor.minMin ?? 0, atMin - rule.anchor.endMin - 4 * HOUR)
      const waits: readonly Wait[] = [
        { key: rule.anchor.key, minMin: anchored ? 0 : soonest },
        ...(prev === undefined && rule.after ? [{ key: rule.after, strength: 'soft' as const }] : []),
      ]
      part = joined(
        part,
        work(s, rule.step, {
          ...own,
          count,
          after: waits,
          starts: slot === 0 ? MORNING : EVENING,
          bias: { nearMin: atMin },
          ...(anchored && !done ? { releaseMin: atMin - 30, dueMin: atMin + 90 } : {}),
        }),
      )
      prev = { key, atMin }
    }
    if (prev && wallMin(s, anchorOn.add({ days: day + 1 }), 420) > rule.untilMin && !laterDone(s, rule.step, 2 * day))
      break
  }
  return { part, last: prev?.key }
}

const laterDone = (s: Setting, step: string, count: number): boolean =>
  Array.from({ length: 20 }, (_, i) => keyOf(s, step, count + 1 + i)).some((key) => isDone(s, key))
