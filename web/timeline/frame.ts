/** One frame of the chart: which rows, where, and every mark on them. Pure; a surface only has to draw it. */
import { type Days, dayCount, dayIndex, wallMs } from './days.ts'
import { eachTouching } from './interval.ts'
import type { Load } from './load.ts'
import { type Level, levelOf, rowShape } from './lod.ts'
import { type MarkContext, type RowMarks, type RowPlace, rowMarks } from './marks.ts'
import { type Model, neighboursOf } from './model.ts'
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

export interface PlacedRow {
  readonly index: number
  readonly row: Row
  readonly place: RowPlace
  readonly marks: RowMarks
}

/** x1, y1, x2, y2 of each link, by what it is. */
export interface Links {
  readonly near: readonly number[]
  readonly far: readonly number[]
  readonly broken: readonly number[]
}

export interface Frame {
  readonly geometry: Geometry
  readonly scale: Scale
  readonly level: Level
  readonly bodyTop: number
  readonly rows: readonly PlacedRow[]
  readonly pixels?: PixelMap
  readonly ticks: Ticks
  readonly shade: readonly { readonly x: number; readonly w: number }[]
  readonly load: readonly {
    readonly x: number
    readonly w: number
    readonly workH: number
    readonly crewH: number
    readonly pressH: number
  }[]
  readonly loadMostH: number
  readonly nowX: number | undefined
  readonly nowLabel: string
  readonly links: Links
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
}

export function layFrame(input: FrameInput): Frame {
  const { model, rows, stack, scale, scrollPx, geometry, days, words, nowMs } = input
  const bodyTop = geometry.axisPx + geometry.stripPx
  const context: MarkContext = {
    model,
    scale,
    nowMs,
    letterPx: geometry.textPx * 0.54,
    ...(input.kept && { kept: input.kept }),
  }
  const placed: PlacedRow[] = []
  const bodyPx = geometry.heightPx - bodyTop
  for (let i = stack.level === 'pixels' ? rows.length : rowAt(stack, scrollPx); i < rows.length; i++) {
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
    placed.push({ index: i, row, place, marks: rowMarks(row, place, context) })
  }
  const nowX = nowMs >= scale.fromMs && nowMs < scale.toMs ? xOf(scale, nowMs) : undefined
  return {
    geometry,
    scale,
    level: stack.level,
    bodyTop,
    rows: placed,
    ...(stack.level === 'pixels' && {
      pixels: pixelMap(model, rows, stack.tops, scale, scrollPx, bodyTop, Math.max(1, Math.floor(bodyPx))),
    }),
    ticks: layTicks(days, scale, words, geometry.textPx),
    shade: shadeOf(days, scale, input.load),
    load: loadColumns(days, scale, input.load),
    loadMostH: input.load.mostH,
    nowX,
    nowLabel: daysShown(scale) < 8 ? `${words.dayShort(nowMs)} ${words.time(nowMs)}` : words.dayShort(nowMs),
    links: linkMarks(input, placed, bodyTop),
  }
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
    })
  }
  return columns
}

/** Links of the focused task over two hops, and broken ones always; all of the visible rows on demand. */
function linkMarks(input: FrameInput, placed: readonly PlacedRow[], bodyTop: number): Links {
  const { model, focusIx, stack, scale, scrollPx } = input
  const links = { near: [] as number[], far: [] as number[], broken: [] as number[] }
  if (focusIx === undefined && !input.allLinks && model.plan.broken.length === 0) return links
  const rowOf = rowOfTasks(input.rows, model.startMs.length)
  const middle = (at: number): number => {
    const h = (stack.tops[at + 1] as number) - (stack.tops[at] as number)
    return bodyTop + (stack.tops[at] as number) - scrollPx + Math.min(h / 2, input.geometry.rowPx * 0.3)
  }
  const link = (prev: number, next: number, into: number[]) => {
    const from = rowOf[prev] as number
    const to = rowOf[next] as number
    if (from < 0 || to < 0) return
    const startMs = model.startMs[next] as number
    const x1 = xOf(scale, Math.max(Math.min(model.endMs[prev] as number, startMs), model.startMs[prev] as number))
    const x2 = xOf(scale, startMs)
    // Shorter than its own elbow in one row, a link is only a blot.
    if (from === to && x2 - x1 < 4) return
    into.push(x1, middle(from), x2, middle(to))
  }
  if (input.allLinks)
    for (const { row } of placed)
      for (const ix of row.tasks.ix) {
        const startMs = model.startMs[ix] as number
        if (startMs < scale.fromMs || startMs > scale.toMs) continue
        for (const prev of neighboursOf(model.prev, ix)) link(prev, ix, links.near)
      }
  for (const broken of model.plan.broken) {
    if (!broken.rule.startsWith('link') || broken.taskKeys.length < 2) continue
    const [a, b] = broken.taskKeys.map((k) => model.ixOf.get(k))
    if (a !== undefined && b !== undefined) link(a, b, links.broken)
  }
  if (focusIx !== undefined) {
    for (const prev of neighboursOf(model.prev, focusIx)) {
      link(prev, focusIx, links.near)
      for (const far of neighboursOf(model.prev, prev)) link(far, prev, links.far)
    }
    for (const next of neighboursOf(model.next, focusIx)) {
      link(focusIx, next, links.near)
      for (const far of neighboursOf(model.next, next)) link(next, far, links.far)
    }
  }
  return links
}

const placesOf = new WeakMap<readonly Row[], Int32Array>()

/** The first row each task stands in; -1 for none. Kept per list of rows: it is asked for in every frame. */
export function rowOfTasks(rows: readonly Row[], count: number): Int32Array {
  const known = placesOf.get(rows)
  if (known) return known
  const at = new Int32Array(count).fill(-1)
  rows.forEach((row, i) => {
    for (const ix of row.tasks.ix) if (at[ix] === -1) at[ix] = i
  })
  placesOf.set(rows, at)
  return at
}
