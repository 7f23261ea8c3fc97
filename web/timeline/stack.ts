/** How high each row is and where it begins. */
import { eachTouching } from './interval.ts'
import { type Level, levelOf } from './lod.ts'
import type { Model } from './model.ts'
import type { Row } from './rows.ts'

/** Tops of all rows, one more than there are rows. */
export interface Stack {
  readonly tops: Float64Array
  readonly level: Level
}

export const GROUP_PX = 30

/** At day zoom a row is as high as the lanes its work of those days needs. */
export interface Window {
  readonly model: Model
  readonly fromMs: number
  readonly toMs: number
}

export function stackRows(rows: readonly Row[], rowPx: number, days: number, window?: Window): Stack {
  const level = levelOf(rowPx, days)
  const tops = new Float64Array(rows.length + 1)
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i] as Row
    tops[i + 1] = (tops[i] as number) + rowHeight(row, rowPx, level, window)
  }
  return { tops, level }
}

function rowHeight(row: Row, rowPx: number, level: Level, window: Window | undefined): number {
  if (row.kind === 'group') return level === 'pixels' ? rowPx : GROUP_PX
  if (row.folded) return Math.min(rowPx, 14)
  if (level === 'bars') return lanesShown(row, window) * 20 + (row.bands.ix.length > 0 ? 26 : 12)
  return rowPx
}

function lanesShown(row: Row, window: Window | undefined): number {
  if (!window) return row.laneCount
  let most = 0
  eachTouching(
    row.tasks,
    (ix) => window.model.endMs[ix] as number,
    window.fromMs,
    window.toMs,
    (_, at) => {
      most = Math.max(most, row.lanes[at] ?? 0)
    },
  )
  return most + 1
}

/** First row whose bottom lies under `y`. */
export function rowAt(stack: Stack, y: number): number {
  let low = 0
  let high = stack.tops.length - 1
  while (low < high) {
    const mid = (low + high) >> 1
    if ((stack.tops[mid + 1] as number) <= y) low = mid + 1
    else high = mid
  }
  return low
}
