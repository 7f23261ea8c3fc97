/** Patterns that run along: drawn once as a strip and copied, since to stroke each of their parts costs far more. */
import { type Stamp, type StampShelf, shelved } from './stamps.ts'
import type { Comb } from './surface.ts'

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D

/** Length of a strip, CSS px. */
const STRIP_PX = 512
/** Slanted strokes are smoothed a little beyond their ends. */
const PAD_PX = 1

/** Level dotted lines x1, x2, y ... */
export function copyDots(to: Context, shelf: StampShelf, lines: readonly number[], colour: string): void {
  const { ratio } = shelf
  for (let i = 0; i < lines.length; i += 3) {
    const x = Math.round((lines[i] as number) * ratio) / ratio
    const y = Math.round((lines[i + 2] as number) * ratio) / ratio
    for (let at = x; at < (lines[i + 1] as number); at += STRIP_PX) {
      const w = Math.floor(Math.min(STRIP_PX, (lines[i + 1] as number) - at) * ratio)
      if (w > 0) to.drawImage(dots(shelf, colour).picture, 0, 0, w, 1, at, y, w / ratio, 1 / ratio)
    }
  }
}

const dots = (shelf: StampShelf, colour: string): Stamp =>
  shelved(shelf, `dots ${colour}`, STRIP_PX, 1 / shelf.ratio, (pen) => {
    pen.fillStyle = colour
    for (let x = 0; x < STRIP_PX; x += 4)
      pen.fillRect(Math.round(x * shelf.ratio), 0, Math.max(1, Math.round(shelf.ratio)), 1)
  })

export function copyTeeth(to: Context, shelf: StampShelf, comb: Comb, colour: string): void {
  const { ratio } = shelf
  const { count, every, dx, dy } = comb
  const strip = teeth(shelf, comb, colour)
  const most = teethIn(every)
  const x = Math.round(comb.x * ratio) / ratio - PAD_PX
  const y = Math.round((comb.y + Math.min(0, dy)) * ratio) / ratio - PAD_PX
  const h = strip.picture.height
  for (let i = 0; i < count; i += most) {
    const part = Math.min(most, count - i)
    const w = Math.min(strip.picture.width, Math.ceil(((part - 1) * every + dx + 2 * PAD_PX) * ratio))
    to.drawImage(strip.picture, 0, 0, w, h, Math.round((x + i * every) * ratio) / ratio, y, w / ratio, h / ratio)
  }
}

const teethIn = (every: number): number => Math.floor(STRIP_PX / every)

function teeth(shelf: StampShelf, { every, dx, dy }: Comb, colour: string): Stamp {
  const { ratio } = shelf
  const count = teethIn(every)
  const widthPx = (count - 1) * every + dx + 2 * PAD_PX
  return shelved(shelf, `teeth ${every} ${dx} ${dy} ${colour}`, widthPx, Math.abs(dy) + 2 * PAD_PX, (pen) => {
    const fromY = (PAD_PX - Math.min(0, dy)) * ratio
    pen.fillStyle = colour
    pen.strokeStyle = colour
    pen.lineWidth = ratio
    pen.beginPath()
    for (let i = 0; i < count; i++) {
      const x = (PAD_PX + i * every) * ratio
      if (dx === 0) pen.fillRect(Math.round(x), PAD_PX * ratio, Math.max(1, Math.round(ratio)), Math.abs(dy) * ratio)
      else {
        pen.moveTo(x, fromY)
        pen.lineTo(x + dx * ratio, fromY + dy * ratio)
      }
    }
    pen.stroke()
  })
}
