/** One frame of the chart: which rows, where, and every mark on them. Pure; a surface only has to draw it. */
import type { Days } from './days.ts'
import { later } from './later.ts'
import { type Links, linkMarks } from './links.ts'
import type { Load } from './load.ts'
import { type Level, rowShape } from './lod.ts'
import { type MarkContext, type RowMarks, type RowPlace, rowMarks } from './marks.ts'
import type { Model } from './model.ts'
import { type PixelMap, pixelMap } from './pixels.ts'
import type { Row } from './rows.ts'
import { daysShown, type Scale, xOf } from './scale.ts'
import { type LoadColumn, loadColumns, type Shade, shadeOf } from './shade.ts'
import { rowAt, type Stack } from './stack.ts'
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
  /** Mean width of a letter, where the typeface was measured. */
  readonly letterPx?: number
}

/** Mean width of a letter against its height, of the wider sans serifs: paper cannot be measured. */
export const LETTER_SHARE = 0.58

export interface PlacedRow {
  readonly index: number
  readonly row: Row
  readonly place: RowPlace
  /** Made when first asked for. */
  readonly marks: RowMarks
}

/** What is costly is made when it is asked for. */
export interface Frame {
  readonly geometry: Geometry
  readonly scale: Scale
  readonly level: Level
  readonly bodyTop: number
  readonly rows: readonly PlacedRow[]
  readonly pixels: PixelMap | undefined
  readonly ticks: Ticks
  readonly shade: readonly Shade[]
  readonly load: readonly LoadColumn[]
  readonly loadMostH: number
  readonly hasCold: boolean
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
  readonly series?: MarkContext['series']
  /** Signs of trouble reach a little beyond their row: rows so near to the frame stand in it too. */
  readonly reachPx?: number
}

export function layFrame(input: FrameInput): Frame {
  const { model, rows, stack, scale, geometry, days, words, nowMs } = input
  const bodyTop = geometry.axisPx + geometry.stripPx
  const placed = placeRows(input, bodyTop)
  const ticks = later(() => layTicks(days, scale, words, geometry.textPx))
  const shade = later(() => shadeOf(days, scale, input.load))
  const load = later(() => loadColumns(days, scale, input.load))
  const pixels = later(() =>
    stack.level === 'pixels'
      ? pixelMap(model, rows, stack.tops, scale, {
          scrollPx: input.scrollPx,
          y: bodyTop,
          heightPx: Math.max(1, Math.floor(geometry.heightPx - bodyTop)),
        })
      : undefined,
  )
  const links = later(() => linksOf(input, bodyTop))
  const marginMs = 2 / scale.pxPerMs
  return {
    geometry,
    scale,
    level: stack.level,
    bodyTop,
    rows: placed,
    get pixels() {
      return pixels()
    },
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
    nowX: nowMs >= scale.fromMs - marginMs && nowMs < scale.toMs + marginMs ? xOf(scale, nowMs) : undefined,
    get nowLabel() {
      return daysShown(scale) < 8 ? `${words.dayShort(nowMs)} ${words.time(nowMs)}` : words.dayShort(nowMs)
    },
    get links() {
      return links()
    },
  }
}

function placeRows(input: FrameInput, bodyTop: number): readonly PlacedRow[] {
  const { rows, stack, scale, scrollPx, geometry, reachPx = 0 } = input
  const placed: PlacedRow[] = []
  if (stack.level === 'pixels') return placed
  const bodyPx = geometry.heightPx - bodyTop + reachPx
  const context = {
    model: input.model,
    scale,
    nowMs: input.nowMs,
    letterPx: geometry.letterPx ?? geometry.textPx * LETTER_SHARE,
    ...(input.kept && { kept: input.kept }),
    ...(input.series && { series: input.series }),
  }
  for (let i = rowAt(stack, scrollPx - reachPx); i < rows.length; i++) {
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
    const marks = later(() => rowMarks(row, place, context))
    placed.push({
      index: i,
      row,
      place,
      get marks() {
        return marks()
      },
    })
  }
  return placed
}

function linksOf(input: FrameInput, bodyTop: number): Links {
  const { stack, scrollPx, geometry, rows, scale } = input
  const middle = (at: number): number => {
    const h = (stack.tops[at + 1] as number) - (stack.tops[at] as number)
    return bodyTop + (stack.tops[at] as number) - scrollPx + Math.min(h / 2, geometry.rowPx * 0.3)
  }
  return linkMarks(
    {
      model: input.model,
      rows,
      scale,
      middle,
      ...(input.focusIx !== undefined && { focusIx: input.focusIx }),
      ...(input.allLinks && { allLinks: true }),
    },
    {
      firstRow: Math.min(rows.length - 1, rowAt(stack, scrollPx - 2)),
      lastRow: Math.min(rows.length - 1, rowAt(stack, scrollPx + geometry.heightPx - bodyTop + 2)),
    },
  )
}

function shapeOf(row: Row, h: number, rowPx: number, level: Level) {
  if (row.folded) return rowShape(h, 'ticks')
  if (level !== 'bars') return rowShape(rowPx, level)
  return { pegY: 12, pegPx: 12, bandY: h - 18, bandPx: 12, laneY: 6, lanePx: 20 }
}
