/** The surface for screens: canvas 2D, with stamps kept in one atlas so that a thousand pegs are a thousand copies. */
import type { Part } from './frame.ts'
import { elbowOf, type PathStyle, type Place, type Surface, type TextStyle } from './surface.ts'

export interface CanvasDrawing {
  readonly surface: Surface
  /** Sizes the canvas to CSS pixels and clears it to a colour. */
  begin(widthPx: number, heightPx: number, ratio: number, ground: string | undefined): void
  /** Copies a part of another canvas of the same size, moved by whole device pixels and cut to the part. */
  copy(from: HTMLCanvasElement, part: Part, dx: number, dy: number): void
}

/** Stamps made once and shared by canvases that show the same. */
export interface StampShelf {
  readonly stamps: Map<number | string, Stamp>
  readonly paths: Map<string, Path2D>
  /** Device pixels for each CSS pixel the stamps were cut for. */
  ratio: number
  forget(): void
}

export function stampShelf(): StampShelf {
  const stamps = new Map<number | string, Stamp>()
  return {
    stamps,
    paths: new Map(),
    ratio: 1,
    forget: () => {
      for (const stamp of stamps.values()) stamp.picture.close()
      stamps.clear()
    },
  }
}

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D

const MOST_STAMPS = 2000
/** Length of the strip of dots that tails are copied from. */
const DOTS_PX = 512

/** @param opaque nothing shows through: cheaper to put together with the page */
export function canvasDrawing(
  canvas: HTMLCanvasElement,
  font: string,
  opaque = false,
  shelf: StampShelf = stampShelf(),
): CanvasDrawing {
  const context = canvas.getContext('2d', { alpha: !opaque })
  if (!context) throw new Error('this browser gave no 2d canvas')
  const { paths, stamps } = shelf
  let ratio = 1
  let sheet: OffscreenCanvas | undefined
  let picture: ImageData | undefined

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
      if (centres.length === 0) return
      if (open || centres.length < 40) {
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
      // Hundreds of grains under two pixels: two crossed boxes pass for round. Boxes one by one, for a path of
      // thousands of them is filled many times slower (measured).
      to.fillStyle = colour
      if (centres.length > 600) {
        // On whole pixels: a box between pixels is smoothed, which costs three times as much.
        for (let i = 0; i < centres.length; i += 2)
          to.fillRect(Math.round(centres[i] as number) - 1, Math.round(centres[i + 1] as number) - 1, 2, 2)
        return
      }
      const cut = radius * 0.45
      for (let i = 0; i < centres.length; i += 2) {
        const x = centres[i] as number
        const y = centres[i + 1] as number
        to.fillRect(x - radius, y - cut, radius * 2, cut * 2)
        to.fillRect(x - cut, y - radius, cut * 2, radius * 2)
      }
    },
    rects: (boxes, fill) => {
      if (boxes.length === 0) return
      to.fillStyle = fill
      for (let i = 0; i < boxes.length; i += 4)
        to.fillRect(boxes[i] as number, boxes[i + 1] as number, boxes[i + 2] as number, boxes[i + 3] as number)
    },
    elbows: (links, stroke, width, dash) => {
      if (links.length === 0) return
      to.strokeStyle = stroke
      to.lineWidth = width
      to.setLineDash(dash ? [...dash] : [])
      to.beginPath()
      for (let i = 0; i < links.length; i += 4) {
        const x1 = links[i] as number
        const x2 = links[i + 2] as number
        const elbow = elbowOf(x1, x2)
        to.moveTo(x1, links[i + 1] as number)
        to.lineTo(elbow, links[i + 1] as number)
        to.lineTo(elbow, links[i + 3] as number)
        to.lineTo(x2, links[i + 3] as number)
      }
      to.stroke()
      to.setLineDash([])
    },
    dotted: (lines, colour) => {
      // A dash for every four pixels is stroked one by one: a strip of dots made once is copied far cheaper.
      for (let i = 0; i < lines.length; i += 3) {
        const x = Math.round((lines[i] as number) * ratio) / ratio
        const y = Math.round((lines[i + 2] as number) * ratio) / ratio
        for (let at = x; at < (lines[i + 1] as number); at += DOTS_PX) {
          const w = Math.floor(Math.min(DOTS_PX, (lines[i + 1] as number) - at) * ratio)
          if (w > 0) to.drawImage(dotsOf(colour), 0, 0, w, 1, at, y, w / ratio, 1 / ratio)
        }
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
    pixels: (x, y, w, h, kinds, colours) => {
      if (picture === undefined || picture.width !== w || picture.height !== h) picture = new ImageData(w, h)
      const words = new Uint32Array(picture.data.buffer)
      const table = Uint32Array.from(colours, littleEndian)
      for (let i = 0; i < kinds.length; i++) words[i] = table[kinds[i] as number] as number
      // putImageData takes device pixels and ignores the transform; through a second canvas it scales like the rest.
      if (sheet === undefined || sheet.width !== w || sheet.height !== h) sheet = new OffscreenCanvas(w, h)
      sheet.getContext('2d')?.putImageData(picture, 0, 0)
      to.drawImage(sheet, x, y)
    },
    stamp: (name, halfPx, x, y, draw) => {
      const cell = stamps.get(name) ?? cut(name, halfPx, draw)
      // Snapped to device pixels: a stamp between two pixels blurs.
      const left = Math.round((x - halfPx) * ratio) / ratio
      const top = Math.round((y - halfPx) * ratio) / ratio
      to.drawImage(cell.picture, left, top, cell.sidePx, cell.sidePx)
    },
  })

  const dotsOf = (colour: string): ImageBitmap => {
    const name = `dots ${colour}`
    const known = stamps.get(name)
    if (known) return known.picture
    const board = new OffscreenCanvas(Math.ceil(DOTS_PX * ratio), 1)
    const pen = board.getContext('2d')
    if (!pen) throw new Error('this browser gave no offscreen canvas')
    pen.fillStyle = colour
    for (let x = 0; x < DOTS_PX; x += 4) pen.fillRect(Math.round(x * ratio), 0, Math.max(1, Math.round(ratio)), 1)
    const stamp: Stamp = { picture: board.transferToImageBitmap(), sidePx: DOTS_PX }
    stamps.set(name, stamp)
    return stamp.picture
  }

  /** Each stamp is a bitmap of its own: copying from a canvas that may still change costs a snapshot every time. */
  const cut = (name: number | string, halfPx: number, draw: (to: Surface) => void): Stamp => {
    const px = Math.max(1, Math.ceil(halfPx * 2 * ratio))
    const board = new OffscreenCanvas(px, px)
    const pen = board.getContext('2d')
    if (!pen) throw new Error('this browser gave no offscreen canvas')
    pen.setTransform(ratio, 0, 0, ratio, px / 2, px / 2)
    draw(on(pen))
    const stamp: Stamp = { picture: board.transferToImageBitmap(), sidePx: px / ratio }
    if (stamps.size > MOST_STAMPS) shelf.forget()
    stamps.set(name, stamp)
    return stamp
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
      ratio = nextRatio
      if (nextRatio !== shelf.ratio) {
        shelf.ratio = nextRatio
        shelf.forget()
      }
      context.setTransform(ratio, 0, 0, ratio, 0, 0)
      if (ground) {
        context.fillStyle = ground
        context.fillRect(0, 0, widthPx, heightPx)
      } else if (!opaque) context.clearRect(0, 0, widthPx, heightPx)
    },
    copy: (from, { x1, y1, x2, y2 }, dx, dy) => {
      const left = Math.round(x1 * ratio)
      const top = Math.round(y1 * ratio)
      const w = Math.min(Math.round(x2 * ratio), canvas.width) - left
      const h = Math.min(Math.round(y2 * ratio), canvas.height) - top
      const keptW = w - Math.abs(dx)
      const keptH = h - Math.abs(dy)
      if (keptW <= 0 || keptH <= 0) return
      context.setTransform(1, 0, 0, 1, 0, 0)
      context.drawImage(
        from,
        left + Math.max(0, -dx),
        top + Math.max(0, -dy),
        keptW,
        keptH,
        left + Math.max(0, dx),
        top + Math.max(0, dy),
        keptW,
        keptH,
      )
      context.setTransform(ratio, 0, 0, ratio, 0, 0)
    },
  }
}

interface Stamp {
  readonly picture: ImageBitmap
  readonly sidePx: number
}

/** `#RRGGBB` as the four bytes of a pixel, opaque. */
const littleEndian = (hex: string): number =>
  (0xff000000 |
    (Number.parseInt(hex.slice(5, 7), 16) << 16) |
    (Number.parseInt(hex.slice(3, 5), 16) << 8) |
    Number.parseInt(hex.slice(1, 3), 16)) >>>
  0

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
