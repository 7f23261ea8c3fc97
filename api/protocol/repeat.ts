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
    // One that people know stays while it is only a little late, or it would come and go with every plan.
    if (!done && at > untilMin + (s.placed.has(key) ? rule.lateDays * DAY : 0)) break
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

/** A time of the local day at which a round is walked, and when it may start. */
export interface Slot {
  readonly minute: number
  readonly starts: string
}

const slot = (minute: number, fromMin: number, untilMin: number): Slot => ({
  minute,
  starts: startsId([[fromMin, untilMin]], undefined, true),
})

/** 07:00 and 17:00; from 16:30, so that the day shift can walk it where there is no late one. */
export const TWICE: readonly Slot[] = [slot(420, 420, 510), slot(1020, 990, 1110)]
/** Toward a stop: 06:00, 14:00, 22:00; the last by the day shift's end where nobody works late. */
export const THRICE: readonly Slot[] = [slot(360, 330, 450), slot(840, 810, 930), slot(1320, 990, 1380)]

export interface Rounds {
  readonly step: string
  /** The moment the rounds count from: yeast in, barrels filled. */
  readonly anchor: { readonly key: string; readonly endMin: number; readonly minMin?: number }
  readonly slots: readonly Slot[]
  /** Which of them are walked, by the minute they fall on. */
  readonly wants: (atMin: number, slotIndex: number) => boolean
  /** The first one comes after this. */
  readonly after?: string
  readonly untilMin: number
  readonly options: (count: number) => WorkOptions
}

const MOST_DAYS = 90

/**
 * Rounds stay on the clock, whatever was missed before: they are counted from their anchor, not chained, so that one
 * nobody can walk does not push the others. A count keeps its day and hour: slots x (day - 1) + slot.
 */
export function rounds(s: Setting, rule: Rounds): { readonly part: Part; readonly last?: string } {
  const anchorOn = dayAt(s, rule.anchor.endMin)
  const anchored = isDone(s, rule.anchor.key)
  const made: Part[] = []
  let last: string | undefined
  for (let day = 1; day <= MOST_DAYS; day++) {
    for (const [index, { minute, starts }] of rule.slots.entries()) {
      const atMin = wallMin(s, anchorOn.add({ days: day }), minute)
      const count = rule.slots.length * (day - 1) + index + 1
      const key = keyOf(s, rule.step, count)
      if (!isDone(s, key)) {
        if (!rule.wants(atMin, index) || (atMin > rule.untilMin && last !== undefined)) continue
        // A missing round stays missing: nobody can read yesterday's density today.
        if (anchored && atMin + 90 < s.nowMin) continue
      }
      const soonest = anchored ? 0 : Math.max(rule.anchor.minMin ?? 0, atMin - rule.anchor.endMin - 4 * HOUR)
      made.push(
        work(s, rule.step, {
          ...rule.options(count),
          count,
          after: [
            { key: rule.anchor.key, minMin: soonest },
            last === undefined && rule.after ? { key: rule.after, strength: 'soft' } : undefined,
          ],
          starts,
          bias: { nearMin: atMin },
          ...(anchored && !isDone(s, key) ? { releaseMin: atMin - 60, dueMin: atMin + 90 } : {}),
        }),
      )
      last = key
    }
    if (last && wallMin(s, anchorOn.add({ days: day }), 1440) > rule.untilMin && !laterDone(s, rule, day)) break
  }
  return { part: joined(...made), last }
}

const laterDone = (s: Setting, rule: Rounds, day: number): boolean =>
  Array.from({ length: 20 }, (_, i) => keyOf(s, rule.step, rule.slots.length * day + 1 + i)).some((key) =>
    isDone(s, key),
  )
