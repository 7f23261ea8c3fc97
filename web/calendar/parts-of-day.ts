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

export function partsOfDay(model: Model, days: Days, tasks: readonly number[]): readonly PartOfDay[] {
  return PARTS.map(([word, until], i) => {
    const from = i === 0 ? 0 : (PARTS[i - 1]?.[1] ?? 0)
    return {
      word,
      tasks: tasks.filter((ix) => {
        const minute = wallMinute(days, model.startMs[ix] as number)
        return minute >= from && minute < until
      }),
    }
  }).filter((part) => part.tasks.length > 0)
}
