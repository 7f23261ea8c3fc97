/** Paper: one SVG a sheet, each with its own dates, names, legend and number, so that no sheet is an orphan. */
import type { Palette } from '../palette.ts'
import { type Days, dayIndex } from './days.ts'
import { type Frame, layFrame, stackRows } from './frame.ts'
import { placeOfTask } from './hit.ts'
import { brokenPairs, rowOfTasks } from './links.ts'
import type { Load } from './load.ts'
import { lookBy, lookWith, type PegLook } from './look.ts'
import { CONFLICT, FAMILY_ORDER, LATE, type Model, neighboursOf, PEG_STATES, PHASE_WORDS, PINNED } from './model.ts'
import { paintFrame } from './paint.ts'
import { drawPeg, pegName } from './peg.ts'
import type { Row } from './rows.ts'
import { DAY_MS, timeScale } from './scale.ts'
import type { Surface } from './surface.ts'
import { svgDocument, svgDrawing } from './svg.ts'
import type { Words } from './words.ts'

export type Paper = 'A4' | 'A3'

/** Printable area of a landscape page with 10 mm margins, in CSS pixels of 1/96 inch. ISO 216: A4 297 x 210 mm, A3 420 x 297 mm. */
const MM = 96 / 25.4
export const PAPER_PX: Readonly<Record<Paper, readonly [w: number, h: number]>> = {
  A4: [Math.floor(277 * MM), Math.floor(190 * MM)],
  A3: [Math.floor(400 * MM), Math.floor(277 * MM)],
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
const GUTTER_PX = 170
/** A wall sheet hangs where gloves point at it: rows of 12 mm. */
export const WALL_ROW_PX = Math.round(12 * MM)

interface Tile {
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
  const heightPx = PAPER_PX[wish.paper][1] - HEAD_PX - FOOT_PX - AXIS_PX
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
  const dates = `${words.day(tile.fromMs)} to ${words.day(tile.toMs - 1)}`
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

/** A link with one end on this sheet: where it leaves, and the sheet that has its other end. */
interface Leaving {
  readonly x: number
  readonly y: number
  readonly edge: 'left' | 'right' | 'top' | 'bottom'
  readonly sheet: number
  readonly broken: boolean
}

function leavingLinks(
  input: PrintInput,
  wish: PrintWish,
  frame: Frame,
  tile: Tile,
  tiles: readonly Tile[],
): readonly Leaving[] {
  const { model } = input
  const rowOf = rowOfTasks(input.rows, model.startMs.length)
  const sheetOf = (ix: number): number =>
    tiles.findIndex(
      (t) =>
        t.rows.includes(input.rows[rowOf[ix] as number] as Row) &&
        (model.startMs[ix] as number) >= t.fromMs &&
        (model.startMs[ix] as number) < t.toMs,
    )
  const here = tiles.indexOf(tile)
  const out: Leaving[] = []
  const look = (prev: number, next: number, broken: boolean) => {
    const [a, b] = [sheetOf(prev), sheetOf(next)]
    if (a === b || (a !== here && b !== here) || a < 0 || b < 0) return
    const [mine, other, sheet] = a === here ? [prev, next, b] : [next, prev, a]
    const spot = placeOfTask(frame, mine)
    if (!spot) return
    const otherMs = model.startMs[other] as number
    const edge =
      otherMs >= tile.toMs
        ? 'right'
        : otherMs < tile.fromMs
          ? 'left'
          : (rowOf[other] as number) > (rowOf[mine] as number)
            ? 'bottom'
            : 'top'
    out.push({ x: spot.x, y: spot.y, edge, sheet: sheet + 1, broken })
  }
  for (const [prev, next] of brokenPairs(model)) look(prev, next, true)
  if (wish.links)
    for (let next = 0; next < model.startMs.length; next++)
      for (const prev of neighboursOf(model.prev, next)) look(prev, next, false)
  return out
}

/** A line to the edge, an arrow there, and the number of the sheet where it goes on. */
function paintLeaving(to: Surface, frame: Frame, palette: Palette, links: readonly Leaving[]): void {
  const { scale, geometry, bodyTop } = frame
  const right = scale.leftPx + scale.widthPx
  for (const { x, y, edge, sheet, broken } of links) {
    const colour = broken ? palette.late : palette.ink
    const word = String(sheet)
    if (edge === 'left' || edge === 'right') {
      const end = edge === 'right' ? right - 8 - word.length * 7 : scale.leftPx + 8 + word.length * 7
      const tip = edge === 'right' ? 5 : -5
      to.segments([x, y, end, y], colour, 1, [4, 2])
      to.path(`M0-3L${tip} 0L0 3Z`, { x: end, y }, { fill: colour })
      to.text(word, edge === 'right' ? right - 1 : scale.leftPx + 1, y + 4, {
        px: 12,
        fill: colour,
        align: edge === 'right' ? 'end' : 'start',
      })
      continue
    }
    const end = edge === 'top' ? bodyTop + 14 : geometry.heightPx - 14
    to.segments([x, y, x, end], colour, 1, [4, 2])
    to.path(edge === 'top' ? 'M-3 0L0-5L3 0Z' : 'M-3 0L0 5L3 0Z', { x, y: end }, { fill: colour })
    to.text(word, x + 5, end + 4, { px: 12, fill: colour })
  }
}

/** Only the signs that this sheet uses. */
function paintKey(to: Surface, frame: Frame, palette: Palette, x: number, y: number): void {
  const looks = new Map<string, PegLook>()
  const phases = new Set<string>()
  for (const { marks } of frame.rows) {
    for (const peg of [...marks.pegs, ...marks.bars]) {
      const { look } = peg
      looks.set(look.family, lookBy(FAMILY_ORDER.indexOf(look.family), PEG_STATES.indexOf('planned'), 0, 0))
      if (look.late) looks.set('late', lookWith(look, LATE))
      if (look.conflict) looks.set('breaks a rule', lookWith(look, CONFLICT))
      if (look.state === 'blocked') looks.set('blocked', lookWith(look, 0))
      if (look.state === 'done') looks.set('done', look)
      if (look.pinned) looks.set('pinned', lookWith(look, PINNED))
    }
    for (const band of marks.bands) phases.add(PHASE_WORDS[band.phase.kind])
  }
  const order = [...FAMILY_ORDER, 'late', 'blocked', 'breaks a rule', 'done', 'pinned']
  let at = x + 6
  for (const word of order) {
    const look = looks.get(word)
    if (!look) continue
    to.stamp(pegName(look, 12, palette), 16, at, y, (stamp) => drawPeg(stamp, look, 12, palette))
    to.text(word, at + 13, y + 4, { px: 12, fill: palette.ink })
    at += 30 + word.length * 7
  }
  const dots = phases.has(PHASE_WORDS.ferment) ? 'dots: sugar falling' : ''
  const rings = phases.has(PHASE_WORDS.malolactic) ? 'rings: acid turned' : ''
  to.text(['bands: what the wine does by itself', dots, rings].filter(Boolean).join('; '), x, y + 20, {
    px: 12,
    fill: palette.quiet,
  })
}
