/** The chart on a screen: tiles of rows, of names and of the strip that move with the plan, and the axis over them. */
import type { Palette } from '../palette.ts'
import { type CanvasDrawing, canvasDrawing } from './canvas.ts'
import { type Frame, type FrameInput, layFrame } from './frame.ts'
import { paintBody } from './paint.ts'
import { paintAxis, paintNames } from './paint-axis.ts'
import { paintLoad, paintLoadNames } from './paint-load.ts'
import { type StampShelf, stampShelf } from './stamps.ts'
import type { Surface } from './surface.ts'
import { type Basis, boxInput, isSameBasis, type Look, type Tile, type Tiling, tilesIn, tilingOf } from './tiles.ts'

export interface Drawn {
  readonly frame: Frame
  readonly input: FrameInput
  /** Device pixels for each CSS pixel. */
  readonly ratio: number
  readonly basis: Basis
}

export interface Screen {
  draw(next: Drawn, palette: Palette): void
}

export interface Sheets {
  readonly rows: HTMLElement
  readonly names: HTMLElement
  readonly strip: HTMLElement
  /** The dates, and what the strip's columns are. */
  readonly axis: HTMLCanvasElement
}

/** Small enough that a pan draws little at a time, large enough that few have to be moved. */
const ACROSS = 3
const DOWN = 3

export function screenOf(sheets: Sheets, font: string): Screen {
  const shelf = stampShelf()
  const rows = tileSheet(sheets.rows, font, shelf)
  const names = tileSheet(sheets.names, font, shelf)
  const strip = tileSheet(sheets.strip, font, shelf)
  const onBoard = boardOf(font, shelf)
  let before: { readonly basis: Basis; readonly palette: Palette; readonly left: number } | undefined

  return {
    draw: ({ frame, input, ratio, basis }, palette) => {
      const { geometry, scale, level, bodyTop } = frame
      const { gutterPx, axisPx, stripPx, widthPx, heightPx } = geometry
      if (palette !== before?.palette) shelf.forget()
      // Work at its true length, and columns of one CSS pixel on a screen that divides them, hang on where one looks.
      const isWhole = level === 'bars' || (level === 'pixels' && ratio !== 1)
      const all = [...basis, palette, ratio, scale.pxPerMs, level]
      const isFresh = isWhole || !isSameBasis(before?.basis, all)
      const dev = (px: number) => Math.round(px * ratio)
      const left = Math.round((scale.fromMs - input.model.firstMs) * scale.pxPerMs * ratio)
      const body = { left, top: dev(input.scrollPx), width: dev(scale.widthPx), height: dev(heightPx - bodyTop) }
      const across = isWhole ? 1 : ACROSS
      const down = isWhole ? 1 : DOWN
      placeBox(sheets.rows, gutterPx, bodyTop, scale.widthPx, heightPx - bodyTop)
      placeBox(sheets.names, 0, bodyTop, gutterPx, heightPx - bodyTop)
      placeBox(sheets.axis, 0, 0, widthPx, bodyTop)
      placeBox(sheets.strip, gutterPx, axisPx, scale.widthPx, stripPx)
      rows(
        body,
        ratio,
        isFresh,
        (at) => tilingOf(at, across, down),
        (to, box) => paintBody(to, layFrame(boxInput(input, box, ratio, 'rows')), palette),
      )
      const gutter = { left: 0, top: body.top, width: dev(gutterPx), height: body.height }
      names(
        gutter,
        ratio,
        isFresh,
        (at) => tilingOf(at, 1, down),
        (to, box) => paintNames(to, layFrame(boxInput(input, box, ratio, 'names')), palette),
      )
      const loads = { left, top: 0, width: body.width, height: dev(stripPx) }
      strip(
        loads,
        ratio,
        isFresh,
        (at) => tilingOf(at, across, 1),
        (to, box) => paintLoad(to, layFrame(boxInput(input, box, ratio, 'strip')), palette),
      )
      if (isFresh || left !== before?.left) {
        onBoard(sheets.axis, widthPx, bodyTop, ratio, palette.ground, (to) => {
          if (stripPx > 0) paintLoadNames(to, frame, palette)
          paintAxis(to, frame, palette)
        })
      }
      before = { basis: all, palette, left }
    },
  }
}

/** Draws on a board and hands it over as a picture: a canvas that could still change is read anew in every frame. */
function boardOf(font: string, shelf: StampShelf) {
  let board: { readonly canvas: OffscreenCanvas; readonly drawing: CanvasDrawing } | undefined
  return (
    onto: HTMLCanvasElement,
    widthPx: number,
    heightPx: number,
    ratio: number,
    ground: string | undefined,
    paint: (to: Surface) => void,
  ): void => {
    if (!board) {
      const canvas = new OffscreenCanvas(1, 1)
      board = { canvas, drawing: canvasDrawing(canvas, font, true, shelf) }
    }
    board.drawing.begin(widthPx, heightPx, ratio, ground)
    paint(board.drawing.surface)
    onto.getContext('bitmaprenderer')?.transferFromImageBitmap(board.canvas.transferToImageBitmap())
  }
}

const placed = new WeakMap<HTMLElement, string>()

function placeBox(box: HTMLElement, x: number, y: number, w: number, h: number): void {
  const key = `${x} ${y} ${w} ${h}`
  if (placed.get(box) === key) return
  placed.set(box, key)
  Object.assign(box.style, { left: `${x}px`, top: `${y}px`, width: `${w}px`, height: `${h}px` })
}

/** Tiles out of sight are kept while they are few, since one comes back to them; not in the page, where each is a layer in every frame. */
const KEPT = 8

type Paint = (to: Surface, box: Look) => void

function tileSheet(box: HTMLElement, font: string, shelf: StampShelf) {
  const roll = document.createElement('div')
  box.append(roll)
  const shown = new Map<string, HTMLCanvasElement>()
  const spare: HTMLCanvasElement[] = []
  let tiling: Tiling = { left: 0, top: 0, width: 1, height: 1 }
  let moved = ''

  const board = boardOf(font, shelf)
  const draw = ({ column, row }: Tile, ratio: number, paint: Paint): HTMLCanvasElement => {
    const tile = spare.pop() ?? document.createElement('canvas')
    const { width, height } = tiling
    const box = { left: tiling.left + column * width, top: tiling.top + row * height, width, height }
    board(tile, width / ratio, height / ratio, ratio, undefined, (to) => paint(to, box))
    Object.assign(tile.style, {
      left: `${(column * width) / ratio}px`,
      top: `${(row * height) / ratio}px`,
      width: `${width / ratio}px`,
      height: `${height / ratio}px`,
    })
    if (!tile.isConnected) roll.append(tile)
    return tile
  }

  /** @param isFresh tiles begin anew; else those drawn before still stand, as long as one of them is in sight */
  return (look: Look, ratio: number, isFresh: boolean, layOut: (look: Look) => Tiling, paint: Paint): void => {
    if (isFresh || !tilesIn(tiling, look).some((tile) => shown.has(keyOf(tile)))) {
      tiling = layOut(look)
      spare.push(...shown.values())
      shown.clear()
    }
    const wanted = look.width > 0 && look.height > 0 ? tilesIn(tiling, look) : []
    const keys = new Set(wanted.map(keyOf))
    const past = [...shown].filter(([key]) => !keys.has(key))
    for (const [key, tile] of past.slice(0, Math.max(0, past.length - KEPT))) {
      shown.delete(key)
      spare.push(tile)
    }
    for (const [key, tile] of past) if (shown.has(key)) tile.remove()
    for (const tile of wanted) {
      const known = shown.get(keyOf(tile))
      if (!known) shown.set(keyOf(tile), draw(tile, ratio, paint))
      else if (!known.isConnected) roll.append(known)
    }
    for (const tile of spare) tile.remove()
    const next = `translate(${(tiling.left - look.left) / ratio}px, ${(tiling.top - look.top) / ratio}px)`
    if (next === moved) return
    moved = next
    roll.style.transform = next
  }
}

const keyOf = ({ column, row }: Tile): string => `${column} ${row}`
