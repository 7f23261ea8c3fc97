/** Paper: one SVG a sheet, each with its own dates, names, legend and number, so that no sheet is an orphan. */
import type { Palette } from '../palette.ts'
import { type Days, dayIndex } from './days.ts'
import { type Frame, layFrame } from './frame.ts'
import type { Load } from './load.ts'
import type { Model } from './model.ts'
import { paintFrame } from './paint.ts'
import { paintKey } from './print-key.ts'
import { leavingLinks, paintLeaving } from './print-leaving.ts'
import type { Row } from './rows.ts'
import { DAY_MS, timeScale } from './scale.ts'
import { stackRows } from './stack.ts'
import { svgDocument, svgDrawing } from './svg.ts'
import { daysWords, type Words } from './words.ts'

export type Paper = 'A4' | 'A3'

/** What a printer leaves white on each side. */
const EDGE_MM = 10

/** Printable area of a landscape page within these margins, in CSS pixels of 1/96 inch. ISO 216: A4 297 x 210 mm, A3 420 x 297 mm. */
const MM = 96 / 25.4
export const PAPER_PX: Readonly<Record<Paper, readonly [w: number, h: number]>> = {
  A4: [Math.floor((297 - 2 * EDGE_MM) * MM), Math.floor((210 - 2 * EDGE_MM) * MM)],
  A3: [Math.floor((420 - 2 * EDGE_MM) * MM), Math.floor((297 - 2 * EDGE_MM) * MM)],
}

/** A sheet as it lies on its paper, white margins and all: for where no printer adds them. */
export function onPaper({ svg, number, of }: Sheet, paper: Paper): string {
  const [w, h] = PAPER_PX[paper]
  const edge = EDGE_MM * MM
  const [wide, high] = [w + 2 * edge, h + 2 * edge].map((px) => Math.round(px)) as [number, number]
  const at = -Math.round(edge)
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${wide}" height="${high}" viewBox="${at} ${at} ${wide} ${high}"><title>Sheet ${number} of ${of}</title><rect x="${at}" y="${at}" width="${wide}" height="${high}" fill="#FFFFFF"/>${svg}</svg>`
}

export interface PrintInput {
  readonly model: Model
  readonly rows: readonly Row[]
  readonly days: Days
  readonly load: Load
  readonly words: Words
  readonly nowMs: number
  readonly palette: Palette
  readonly title: string
}

export interface PrintWish {
  readonly paper: Paper
  readonly fromMs: number
  readonly toMs: number
  readonly weeksPerSheet: number
  readonly rowPx: number
  /** Links between tasks; broken ones are drawn always. */
  readonly links?: boolean
}

export interface Sheet {
  readonly number: number
  readonly of: number
  readonly svg: string
}

const HEAD_PX = 30
const FOOT_PX = 44
const AXIS_PX = 50
const GUTTER_PX = 184
/** A wall sheet hangs where gloves point at it: rows of 12 mm. */
export const WALL_ROW_PX = Math.round(12 * MM)

/** Few rows share the sheet among them, so that a name has two lines; many are as low as they can be read. */
export const rowPxFor = (rows: number, paper: Paper): number =>
  Math.max(28, Math.min(48, Math.floor(bodyPx(paper) / Math.max(1, rows))))

const bodyPx = (paper: Paper): number => PAPER_PX[paper][1] - HEAD_PX - FOOT_PX - AXIS_PX

/** A sheet's part of the plan. */
export interface Tile {
  readonly fromMs: number
  readonly toMs: number
  readonly rows: readonly Row[]
  readonly band: number
  readonly column: number
}

export function printSheets(input: PrintInput, wish: PrintWish): readonly Sheet[] {
  const tiles = layTiles(input, wish)
  return tiles.map((tile, i) => ({
    number: i + 1,
    of: tiles.length,
    svg: sheetSvg(input, wish, tile, i + 1, tiles),
  }))
}

function layTiles({ rows, days }: PrintInput, wish: PrintWish): readonly Tile[] {
  const heightPx = bodyPx(wish.paper)
  const spans = weekSpans(days, wish)
  const tiles: Tile[] = []
  for (const [band, members] of fillSheets(rows, heightPx, wish, spans[0]).entries())
    for (const [column, [fromMs, toMs]] of spans.entries()) tiles.push({ fromMs, toMs, rows: members, band, column })
  return tiles
}

/** Cut at local midnights: a sheet of one week is 167 or 169 hours wide where the clocks change. */
function weekSpans(days: Days, { fromMs, toMs, weeksPerSheet }: PrintWish): readonly (readonly [number, number])[] {
  const spans: (readonly [number, number])[] = []
  let at = dayIndex(days, fromMs)
  const last = dayIndex(days, toMs - 1)
  while (at <= last) {
    const next = Math.min(days.startMs.length - 1, at + weeksPerSheet * 7)
    spans.push([days.startMs[at] as number, days.startMs[next] as number])
    if (next === at) break
    at = next
  }
  return spans
}

function fillSheets(
  rows: readonly Row[],
  heightPx: number,
  wish: PrintWish,
  span: readonly [number, number] | undefined,
): readonly (readonly Row[])[] {
  if (!span) return []
  const stack = stackRows(rows, wish.rowPx, (span[1] - span[0]) / DAY_MS)
  const bands: Row[][] = [[]]
  let top = 0
  rows.forEach((row, i) => {
    const bottom = stack.tops[i + 1] as number
    if (bottom - top > heightPx && (bands.at(-1)?.length ?? 0) > 0) {
      bands.push([])
      top = stack.tops[i] as number
    }
    bands.at(-1)?.push(row)
  })
  return bands
}

function sheetSvg(input: PrintInput, wish: PrintWish, tile: Tile, number: number, tiles: readonly Tile[]): string {
  const of = tiles.length
  const [widthPx, heightPx] = PAPER_PX[wish.paper]
  const { palette, words, title } = input
  const frame = frameOf(input, wish, tile, widthPx, heightPx - HEAD_PX - FOOT_PX)
  const chart = svgDrawing(`s${number}`)
  paintFrame(chart.surface, frame, palette)
  paintLeaving(chart.surface, frame, palette, leavingLinks(input, wish, frame, tile, tiles))
  const around = svgDrawing(`f${number}`)
  const to = around.surface
  const dates = daysWords(words, words.day, tile.fromMs, tile.toMs)
  to.text(title, 16, 18, { px: 15, fill: palette.ink, weight: 600 })
  to.text(dates, widthPx - 2, 18, { px: 13, fill: palette.ink, align: 'end' })
  const foot = heightPx - FOOT_PX + 20
  paintKey(to, frame, palette, 16, foot)
  to.text(`sheet r${tile.band + 1} c${tile.column + 1}, ${number} of ${of}`, widthPx - 2, foot + 4, {
    px: 12,
    fill: palette.ink,
    align: 'end',
    weight: 600,
  })
  to.text(`printed ${words.moment(input.nowMs)}, times of ${words.zone}`, widthPx - 2, foot + 20, {
    px: 12,
    fill: palette.quiet,
    align: 'end',
  })
  const body = `<rect width="${widthPx}" height="${heightPx}" fill="${palette.ground}"/><g transform="translate(0 ${HEAD_PX})">${chart.body()}</g>${around.body()}`
  return svgDocument(widthPx, heightPx, `${title}, sheet ${number} of ${of}`, dates, body)
}

function frameOf(input: PrintInput, wish: PrintWish, tile: Tile, widthPx: number, heightPx: number): Frame {
  return layFrame({
    model: input.model,
    rows: tile.rows,
    stack: stackRows(tile.rows, wish.rowPx, (tile.toMs - tile.fromMs) / DAY_MS),
    scale: timeScale(tile.fromMs, tile.toMs, widthPx - GUTTER_PX, GUTTER_PX),
    scrollPx: 0,
    geometry: { widthPx, heightPx, gutterPx: GUTTER_PX, axisPx: AXIS_PX, stripPx: 0, rowPx: wish.rowPx, textPx: 12 },
    days: input.days,
    load: input.load,
    words: input.words,
    nowMs: input.nowMs,
    ...(wish.links && { allLinks: true }),
  })
}
