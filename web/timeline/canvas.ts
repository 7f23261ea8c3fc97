/** The surface for screens: canvas 2D, with stamps kept in one atlas so that a thousand pegs are a thousand copies. */
import { pathOf, type StampShelf, shelved, stampShelf } from './stamps.ts'
import { copyDots, copyTeeth } from './strips.ts'
import { elbowOf, type PathStyle, type Place, type Surface, type TextStyle } from './surface.ts'

export interface CanvasDrawing {
  readonly surface: Surface
  /** Sizes the canvas to CSS pixels and clears it to a colour. */
  begin(widthPx: number, heightPx: number, ratio: number, ground: string | undefined): void
}

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D

/** @param opaque nothing shows through: cheaper to put together with the page */
export function canvasDrawing(
  canvas: HTMLCanvasElement | OffscreenCanvas,
  font: string,
  opaque = false,
  shelf: StampShelf = stampShelf(),
): CanvasDrawing {
  const context = canvas.getContext('2d', { alpha: !opaque }) as Context | null
  if (!context) throw new Error('this browser gave no 2d canvas')
  const { paths } = shelf
  let ratio = 1
  let sheet: OffscreenCanvas | undefined
  let picture: ImageData | undefined

  const on = (to: Context, set: FontSet = { font: '' }): Surface => ({
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
      if (open || radius > 1.5) {
        const drawn = (pen: Surface) =>
          pen.path(circle(radius), { x: 0, y: 0 }, open ? { stroke: colour } : { fill: colour })
        for (let i = 0; i < centres.length; i += 2)
          on(to, set).stamp(
            `${open ? 'ring' : 'dot'} ${radius} ${colour}`,
            radius + 1.5,
            centres[i] as number,
            centres[i + 1] as number,
            drawn,
          )
        return
      }
      // Grains under two pixels: boxes one by one, on whole pixels. A path of thousands is filled many times slower,
      // and a box between pixels is smoothed, which costs three times as much (both measured).
      to.fillStyle = colour
      const side = Math.round(radius * 2 * ratio) / ratio
      for (let i = 0; i < centres.length; i += 2)
        to.fillRect(
          Math.round(((centres[i] as number) - radius) * ratio) / ratio,
          Math.round(((centres[i + 1] as number) - radius) * ratio) / ratio,
          side,
          side,
        )
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
    dotted: (lines, colour) => copyDots(to, shelf, lines, colour),
    teeth: (comb, colour) => {
      if (comb.count > 0) copyTeeth(to, shelf, comb, colour)
    },
    text: (words, x, y, style) => {
      setText(to, style, font, set)
      to.fillText(words, x, y)
    },
    clipRect: (x, y, w, h, inside) => {
      to.save()
      to.beginPath()
      to.rect(x, y, w, h)
      to.clip()
      inside()
      to.restore()
      set.font = ''
    },
    clipPath: (d, place, inside) => {
      to.save()
      const matrix = new DOMMatrix().translate(place.x, place.y).scale(place.scale ?? 1)
      const placed = new Path2D()
      placed.addPath(pathOf(paths, d), matrix)
      to.clip(placed)
      inside()
      to.restore()
      set.font = ''
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
      const cell = shelved(shelf, name, halfPx * 2, halfPx * 2, (pen) => {
        const middle = Math.max(1, Math.ceil(halfPx * 2 * ratio)) / 2
        pen.setTransform(ratio, 0, 0, ratio, middle, middle)
        draw(on(pen))
      })
      // Snapped to device pixels: a stamp between two pixels blurs.
      const left = Math.round((x - halfPx) * ratio) / ratio
      const top = Math.round((y - halfPx) * ratio) / ratio
      to.drawImage(cell.picture, left, top, cell.sidePx, cell.sidePx)
    },
  })

  const fontNow: FontSet = { font: '' }
  const surface = on(context, fontNow)
  return {
    surface,
    begin: (widthPx, heightPx, nextRatio, ground) => {
      const w = Math.round(widthPx * nextRatio)
      const h = Math.round(heightPx * nextRatio)
      if (canvas.width !== w || canvas.height !== h) {
        canvas.width = w
        canvas.height = h
      }
      // Another size, and a picture handed over, take the font with them.
      fontNow.font = ''
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
  }
}

const SAMPLE = 'Check tank headspace and gas'

/** Mean width of a letter of a typeface at a height, CSS px; nothing where it cannot be measured. */
export function measuredLetterPx(canvas: HTMLCanvasElement, font: string, px: number): number | undefined {
  const context = canvas.getContext('2d')
  if (!context) return undefined
  context.save()
  context.font = `${px}px ${font}`
  const { width } = context.measureText(SAMPLE)
  context.restore()
  return width > 0 ? width / SAMPLE.length : undefined
}

/** `#RRGGBB` as the four bytes of a pixel, opaque. */
const littleEndian = (hex: string): number =>
  (0xff000000 |
    (Number.parseInt(hex.slice(5, 7), 16) << 16) |
    (Number.parseInt(hex.slice(3, 5), 16) << 8) |
    Number.parseInt(hex.slice(1, 3), 16)) >>>
  0

const circle = (r: number): string => `M${-r} 0A${r} ${r} 0 1 1 ${r} 0A${r} ${r} 0 1 1 ${-r} 0Z`

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

/** The font that a context has now: to set one costs more than to draw a short word with it. */
interface FontSet {
  font: string
}

function setText(to: Context, style: TextStyle, font: string, set: FontSet): void {
  const wanted = `${style.weight ?? 400} ${style.px}px ${font}`
  if (set.font !== wanted) {
    to.font = wanted
    set.font = wanted
  }
  to.fillStyle = style.fill
  to.textAlign = style.align === 'middle' ? 'center' : (style.align ?? 'start')
  to.textBaseline = 'alphabetic'
}

export type { Place }
