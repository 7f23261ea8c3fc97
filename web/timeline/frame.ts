/** One frame of the chart: which rows, where, and every mark on them. Pure; a surface only has to draw it. */
import { type Days, dayCount, dayIndex, wallMs } from './days.ts'
import { eachTouching } from './interval.ts'
import { later } from './later.ts'
import { type Links, linkMarks } from './links.ts'
import type { Load } from './load.ts'
import { type Level, levelOf, rowShape } from './lod.ts'
import { type MarkContext, type RowMarks, type RowPlace, rowMarks } from './marks.ts'
import type { Model } from './model.ts'
import { type PixelMap, pixelMap } from './pixels.ts'
import type { Row } from './rows.ts'
import { daysShown, type Scale, xOf } from './scale.ts'
import { layTicks, type Ticks } from './ticks.ts'
import type { Words } from './words.ts'

export interface Geometry {
  readonly widthPx: number
  readonly heightPx: number
  readonly gutterPx: number
  readonly axisPx: number
  readonly stripPx: number
  readonly rowPx: number
  readonly textPx: number
}

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

export type { Links } from './links.ts'

export interface PlacedRow {
  readonly index: number
  readonly row: Row
  readonly place: RowPlace
  /** All of its marks in the plot; made when first asked for. */
  readonly marks: RowMarks
  /** Those of a part, between two pixels. */
  readonly marksIn: (fromX: number, toX: number) => RowMarks
}

/** A part of the frame, in pixels. */
export interface Part {
  readonly x1: number
  readonly y1: number
  readonly x2: number
  readonly y2: number
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

/** What is costly is made when it is asked for: a pan asks only for the strip that came into sight. */
export interface Frame {
  readonly geometry: Geometry
  readonly scale: Scale
  readonly level: Level
  readonly bodyTop: number
  readonly rows: readonly PlacedRow[]
  readonly pixels: PixelMap | undefined
  readonly pixelsIn: (fromX: number, toX: number) => PixelMap | undefined
  readonly ticks: Ticks
  readonly shade: readonly { readonly x: number; readonly w: number }[]
  readonly load: readonly LoadColumn[]
  readonly loadMostH: number
  readonly hasCold: boolean
  readonly nowX: number | undefined
  readonly nowLabel: string
  readonly links: Links
  readonly linksIn: (part: Part) => Links
}

export interface FrameInput {
  readonly model: Model
  readonly rows: readonly Row[]
  readonly stack: Stack
  readonly scale: Scale
  readonly scrollPx: number
  readonly geometry: Geometry
  readonly days: Days
  readonly load: Load
  readonly words: Words
  readonly nowMs: number
  readonly focusIx?: number
  readonly allLinks?: boolean
  readonly kept?: MarkContext['kept']
  readonly series?: MarkContext['series']
}

export function layFrame(input: FrameInput): Frame {
  const { model, rows, stack, scale, geometry, days, words, nowMs } = input
  const bodyTop = geometry.axisPx + geometry.stripPx
  const rightX = scale.leftPx + scale.widthPx
  const placed = placeRows(input, bodyTop)
  const pixelsIn = (fromX: number, toX: number) =>
    stack.level === 'pixels'
      ? pixelMap(model, rows, stack.tops, scale, {
          scrollPx: input.scrollPx,
          y: bodyTop,
          heightPx: Math.max(1, Math.floor(geometry.heightPx - bodyTop)),
          fromX,
          toX,
        })
      : undefined
  const linksIn = linksOf(input, bodyTop)
  const ticks = later(() => layTicks(days, scale, words, geometry.textPx))
  const shade = later(() => shadeOf(days, scale, input.load))
  const load = later(() => loadColumns(days, scale, input.load))
  const pixels = later(() => pixelsIn(scale.leftPx, rightX))
  const links = later(() => linksIn({ x1: scale.leftPx, x2: rightX, y1: bodyTop, y2: geometry.heightPx }))
  return {
    geometry,
    scale,
    level: stack.level,
    bodyTop,
    rows: placed,
    get pixels() {
      return pixels()
    },
    pixelsIn,
    get ticks() {
      return ticks()
    },
    get shade() {
      return shade()
    },
    get load() {
      return load()
    },
    loadMostH: input.load.mostH,
    hasCold: input.load.coldShare !== undefined,
    nowX: nowMs >= scale.fromMs && nowMs < scale.toMs ? xOf(scale, nowMs) : undefined,
    get nowLabel() {
      return daysShown(scale) < 8 ? `${words.dayShort(nowMs)} ${words.time(nowMs)}` : words.dayShort(nowMs)
    },
    get links() {
      return links()
    },
    linksIn,
  }
}

function placeRows(input: FrameInput, bodyTop: number): readonly PlacedRow[] {
  const { rows, stack, scale, scrollPx, geometry } = input
  const placed: PlacedRow[] = []
  if (stack.level === 'pixels') return placed
  const bodyPx = geometry.heightPx - bodyTop
  const context = {
    model: input.model,
    scale,
    nowMs: input.nowMs,
    letterPx: geometry.textPx * 0.54,
    ...(input.kept && { kept: input.kept }),
    ...(input.series && { series: input.series }),
  }
  for (let i = rowAt(stack, scrollPx); i < rows.length; i++) {
    const y = (stack.tops[i] as number) - scrollPx
    if (y >= bodyPx) break
    const row = rows[i] as Row
    const h = (stack.tops[i + 1] as number) - (stack.tops[i] as number)
    const place: RowPlace = {
      y: bodyTop + y,
      h,
      shape: shapeOf(row, h, geometry.rowPx, stack.level),
      level: row.folded ? 'ticks' : stack.level,
    }
    const marksIn = (fromX: number, toX: number) => rowMarks(row, place, { ...context, fromX, toX })
    const marks = later(() => marksIn(scale.leftPx, scale.leftPx + scale.widthPx))
    placed.push({
      index: i,
      row,
      place,
      marksIn,
      get marks() {
        return marks()
      },
    })
  }
  return placed
}

function linksOf(input: FrameInput, bodyTop: number): Frame['linksIn'] {
  const { stack, scrollPx, geometry } = input
  const middle = (at: number): number => {
    const h = (stack.tops[at + 1] as number) - (stack.tops[at] as number)
    return bodyTop + (stack.tops[at] as number) - scrollPx + Math.min(h / 2, geometry.rowPx * 0.3)
  }
  return ({ x1, x2, y1, y2 }) =>
    linkMarks(
      {
        model: input.model,
        rows: input.rows,
        scale: input.scale,
        middle,
        ...(input.focusIx !== undefined && { focusIx: input.focusIx }),
        ...(input.allLinks && { allLinks: true }),
      },
      {
        fromX: x1,
        toX: x2,
        firstRow: Math.min(input.rows.length - 1, rowAt(stack, scrollPx + y1 - bodyTop - 2)),
        lastRow: Math.min(input.rows.length - 1, rowAt(stack, scrollPx + y2 - bodyTop + 2)),
      },
    )
}

function shapeOf(row: Row, h: number, rowPx: number, level: Level) {
  if (row.folded) return rowShape(h, 'ticks')
  if (level !== 'bars') return rowShape(rowPx, level)
  return { pegY: 12, pegPx: 12, bandY: h - 18, bandPx: 12, laneY: 6, lanePx: 20 }
}

/** Days nobody works, and nights where they are wide enough to see. */
function shadeOf(days: Days, scale: Scale, load: Load): Frame['shade'] {
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

function loadColumns(days: Days, scale: Scale, load: Load): Frame['load'] {
  const last = Math.min(dayCount(days) - 1, dayIndex(days, scale.toMs))
  const columns: Frame['load'][number][] = []
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
