/** The surface for screens: canvas 2D, with stamps kept in one atlas so that a thousand pegs are a thousand copies. */
import type { PathStyle, Place, Surface, TextStyle } from './surface.ts'

export interface CanvasDrawing {
  readonly surface: Surface
  /** Sizes the canvas to CSS pixels and clears it to a colour. */
  begin(widthPx: number, heightPx: number, ratio: number, ground: string | undefined): void
  /** Stamps depend on the palette: forget them when it changes. */
  forget(): void
}

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D

const ATLAS_PX = 1024

export function canvasDrawing(canvas: HTMLCanvasElement, font: string): CanvasDrawing {
  const context = canvas.getContext('2d', { alpha: true })
  if (!context) throw new Error('this browser gave no 2d canvas')
  const paths = new Map<string, Path2D>()
  let atlas = newAtlas()
  let ratio = 1

  const on = (to: Context): Surface => ({
    rect: (x, y, w, h, fill) => {
      to.fillStyle = fill
      to.fillRect(x, y, w, h)
    },
    path: (d, place, style) => {
      to.save()
      to.translate(place.x, place.y)
      if (place.scale) to.scale(place.scale, place.scale)
      strokeAndFill(to, pathOf(paths, d), style)
      to.restore()
    },
    segments: (points, stroke, width, dash) => {
      if (points.length === 0) return
      to.strokeStyle = stroke
      to.lineWidth = width
      to.setLineDash(dash ? [...dash] : [])
      to.beginPath()
      for (let i = 0; i < points.length; i += 4) {
        to.moveTo(points[i] as number, points[i + 1] as number)
        to.lineTo(points[i + 2] as number, points[i + 3] as number)
      }
      to.stroke()
      to.setLineDash([])
    },
    dots: (centres, radius, colour, open) => {
      // Inside a stamp dots are few and drawn; on the chart they are many and stamped.
      if (to !== context) {
        for (let i = 0; i < centres.length; i += 2)
          strokeAndFill(
            to,
            pathOf(paths, circle(radius)),
            open ? { stroke: colour } : { fill: colour },
            centres[i],
            centres[i + 1],
          )
        return
      }
      for (let i = 0; i < centres.length; i += 2) {
        surface.stamp(
          `dot ${radius} ${colour} ${open ? 'o' : ''}`,
          radius + 1,
          centres[i] as number,
          centres[i + 1] as number,
          (dot) => dot.path(circle(radius), { x: 0, y: 0 }, open ? { stroke: colour, width: 1 } : { fill: colour }),
        )
      }
    },
    text: (words, x, y, style) => {
      setText(to, style, font)
      to.fillText(words, x, y)
    },
    clipRect: (x, y, w, h, inside) => {
      to.save()
      to.beginPath()
      to.rect(x, y, w, h)
      to.clip()
      inside()
      to.restore()
    },
    clipPath: (d, place, inside) => {
      to.save()
      const matrix = new DOMMatrix().translate(place.x, place.y).scale(place.scale ?? 1)
      const placed = new Path2D()
      placed.addPath(pathOf(paths, d), matrix)
      to.clip(placed)
      inside()
      to.restore()
    },
    stamp: (name, halfPx, x, y, draw) => {
      const cell = atlas.cells.get(name) ?? cut(name, halfPx, draw)
      // Snapped to device pixels: a stamp between two pixels blurs.
      const left = Math.round((x - halfPx) * ratio) / ratio
      const top = Math.round((y - halfPx) * ratio) / ratio
      to.drawImage(atlas.canvas, cell.x, cell.y, cell.px, cell.px, left, top, cell.px / ratio, cell.px / ratio)
    },
  })

  const cut = (name: string, halfPx: number, draw: (to: Surface) => void): Cell => {
    const px = Math.ceil(halfPx * 2 * ratio)
    if (atlas.x + px > ATLAS_PX) {
      atlas.x = 0
      atlas.y += atlas.rowPx
      atlas.rowPx = 0
    }
    if (atlas.y + px > ATLAS_PX) atlas = newAtlas()
    const cell: Cell = { x: atlas.x, y: atlas.y, px }
    const to = atlas.context
    to.setTransform(ratio, 0, 0, ratio, cell.x + px / 2, cell.y + px / 2)
    draw(on(to))
    atlas.x += px + 1
    atlas.rowPx = Math.max(atlas.rowPx, px + 1)
    atlas.cells.set(name, cell)
    return cell
  }

  const surface = on(context)
  return {
    surface,
    begin: (widthPx, heightPx, nextRatio, ground) => {
      const w = Math.round(widthPx * nextRatio)
      const h = Math.round(heightPx * nextRatio)
      if (canvas.width !== w || canvas.height !== h) {
        canvas.width = w
        canvas.height = h
      }
      if (nextRatio !== ratio) {
        ratio = nextRatio
        atlas = newAtlas()
      }
      context.setTransform(ratio, 0, 0, ratio, 0, 0)
      if (ground) {
        context.fillStyle = ground
        context.fillRect(0, 0, widthPx, heightPx)
      } else context.clearRect(0, 0, widthPx, heightPx)
    },
    forget: () => {
      atlas = newAtlas()
    },
  }
}

interface Cell {
  readonly x: number
  readonly y: number
  readonly px: number
}

interface Atlas {
  readonly canvas: OffscreenCanvas
  readonly context: OffscreenCanvasRenderingContext2D
  readonly cells: Map<string, Cell>
  x: number
  y: number
  rowPx: number
}

function newAtlas(): Atlas {
  const canvas = new OffscreenCanvas(ATLAS_PX, ATLAS_PX)
  const context = canvas.getContext('2d')
  if (!context) throw new Error('this browser gave no offscreen canvas')
  return { canvas, context, cells: new Map(), x: 0, y: 0, rowPx: 0 }
}

const circle = (r: number): string => `M${-r} 0A${r} ${r} 0 1 1 ${r} 0A${r} ${r} 0 1 1 ${-r} 0Z`

/** Pegs and ends of bands come back in every frame; the odd widths between do not, so the shelf is emptied when full. */
function pathOf(paths: Map<string, Path2D>, d: string): Path2D {
  const known = paths.get(d)
  if (known) return known
  if (paths.size > 500) paths.clear()
  const made = new Path2D(d)
  paths.set(d, made)
  return made
}

function strokeAndFill(to: Context, path: Path2D, { fill, stroke, width = 1 }: PathStyle, x = 0, y = 0): void {
  if (x !== 0 || y !== 0) {
    to.save()
    to.translate(x, y)
    strokeAndFill(to, path, { ...(fill && { fill }), ...(stroke && { stroke }), width })
    to.restore()
    return
  }
  if (fill) {
    to.fillStyle = fill
    to.fill(path)
  }
  if (stroke) {
    to.strokeStyle = stroke
    to.lineWidth = width
    to.stroke(path)
  }
}

function setText(to: Context, style: TextStyle, font: string): void {
  to.font = `${style.weight ?? 400} ${style.px}px ${font}`
  to.fillStyle = style.fill
  to.textAlign = style.align === 'middle' ? 'center' : (style.align ?? 'start')
  to.textBaseline = 'alphabetic'
}

export type { Place }
