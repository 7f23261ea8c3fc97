/** A day's work in the order it is done, cut where people stop to eat. */
import { type Days, wallMinute } from '../timeline/days.ts'
import type { Model } from '../timeline/model.ts'

export interface PartOfDay {
  readonly word: string
  readonly tasks: readonly number[]
}

const PARTS: readonly (readonly [word: string, untilMin: number])[] = [
  ['Night', 5 * 60],
  ['Morning', 12 * 60],
  ['Afternoon', 18 * 60],
  ['Evening', 24 * 60],
]

/** Work whose hour is not named yet. */
export const IN_THE_DAY = 'In the day'

export function partsOfDay(model: Model, days: Days, tasks: readonly number[]): readonly PartOfDay[] {
  const isDaily = (ix: number) => model.plan.tasks[ix]?.grain === 'day'
  const parts = PARTS.map(([word, until], i) => {
    const from = i === 0 ? 0 : (PARTS[i - 1]?.[1] ?? 0)
    return {
      word,
      tasks: tasks.filter((ix) => {
        if (isDaily(ix)) return false
        const minute = wallMinute(days, model.startMs[ix] as number)
        return minute >= from && minute < until
      }),
    }
  })
  return [...parts, { word: IN_THE_DAY, tasks: tasks.filter(isDaily) }].filter((part) => part.tasks.length > 0)
}
