/** What stands behind and over the rows: nights, days nobody works, and the load of each day. */
import { type Days, dayCount, dayIndex, wallMs } from './days.ts'
import type { Load } from './load.ts'
import { daysShown, type Scale, xOf } from './scale.ts'

export interface Shade {
  readonly x: number
  readonly w: number
}

export interface LoadColumn {
  readonly x: number
  readonly w: number
  readonly workH: number
  readonly crewH: number
  readonly pressH: number
  /** Highest cooling of the day as a share of what the chillers give; 0 where nobody told it. */
  readonly coldShare: number
}

/** Days nobody works, and nights where they are wide enough to see. */
export function shadeOf(days: Days, scale: Scale, load: Load): readonly Shade[] {
  const dayPx = scale.widthPx / daysShown(scale)
  if (dayPx < 3) return []
  const spans: { x: number; w: number }[] = []
  const add = (fromMs: number, toMs: number) => {
    const x = Math.max(scale.leftPx, xOf(scale, fromMs))
    const w = Math.min(scale.leftPx + scale.widthPx, xOf(scale, toMs)) - x
    if (w > 0) spans.push({ x, w })
  }
  const last = Math.min(dayCount(days) - 1, dayIndex(days, scale.toMs))
  for (let i = dayIndex(days, scale.fromMs); i <= last; i++) {
    const startMs = days.startMs[i] as number
    const endMs = days.startMs[i + 1] as number
    if ((load.crewH[i] as number) === 0) add(startMs, endMs)
    else if (dayPx >= 56) {
      add(startMs, wallMs(days, i, 6 * 60))
      add(wallMs(days, i, 20 * 60), endMs)
    }
  }
  return spans
}

export function loadColumns(days: Days, scale: Scale, load: Load): readonly LoadColumn[] {
  const last = Math.min(dayCount(days) - 1, dayIndex(days, scale.toMs))
  const columns: LoadColumn[] = []
  for (let i = dayIndex(days, scale.fromMs); i <= last; i++) {
    const x = xOf(scale, days.startMs[i] as number)
    columns.push({
      x,
      w: xOf(scale, days.startMs[i + 1] as number) - x,
      workH: load.workH[i] as number,
      crewH: load.crewH[i] as number,
      pressH: load.pressH[i] as number,
      coldShare: load.coldShare?.[i] ?? 0,
    })
  }
  return columns
}
