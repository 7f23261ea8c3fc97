/** The chart on two canvases in turn: what was drawn on one is copied to the other, shifted, and only the rest is drawn. */
import type { Palette } from '../palette.ts'
import { canvasDrawing, stampShelf } from './canvas.ts'
import { paintAxis, paintFrame, paintNames, paintPart } from './paint.ts'
import { type Drawn, freshParts, type Shift, shiftOf } from './roll.ts'

export interface Screen {
  draw(next: Drawn, palette: Palette): void
}

export function screenOf(canvases: readonly [HTMLCanvasElement, HTMLCanvasElement], font: string): Screen {
  const shelf = stampShelf()
  const drawings = canvases.map((canvas) => canvasDrawing(canvas, font, true, shelf))
  let front = 0
  let before: Drawn | undefined
  let palette: Palette | undefined

  const whole = (next: Drawn, ink: Palette) => {
    const drawing = drawings[front] as (typeof drawings)[0]
    const { widthPx, heightPx } = next.frame.geometry
    drawing.begin(widthPx, heightPx, next.ratio, ink.ground)
    paintFrame(drawing.surface, next.frame, ink)
  }

  const shifted = (next: Drawn, shift: Shift, ink: Palette) => {
    const from = canvases[front] as HTMLCanvasElement
    front = 1 - front
    const to = drawings[front] as (typeof drawings)[0]
    const { frame, ratio } = next
    const { geometry, scale, bodyTop } = frame
    const { widthPx, heightPx, gutterPx, axisPx } = geometry
    to.begin(widthPx, heightPx, ratio, undefined)
    const copy = (x: number, y: number, w: number, h: number, dx: number, dy: number) =>
      to.copy(from, { x1: x, y1: y, x2: x + w, y2: y + h }, dx, dy)
    if (shift.dx === 0) {
      copy(0, 0, widthPx, bodyTop, 0, 0)
      copy(0, bodyTop, widthPx, heightPx - bodyTop, 0, shift.dy)
    } else {
      copy(0, axisPx, gutterPx, bodyTop - axisPx, 0, 0)
      copy(0, bodyTop, gutterPx, heightPx - bodyTop, 0, shift.dy)
      copy(scale.leftPx, axisPx, scale.widthPx, bodyTop - axisPx, shift.dx, 0)
      copy(scale.leftPx, bodyTop, scale.widthPx, heightPx - bodyTop, shift.dx, shift.dy)
    }
    for (const part of freshParts(shift, frame, ratio)) paintPart(to.surface, frame, ink, part)
    if (shift.dy > 0) paintNames(to.surface, frame, ink, bodyTop, bodyTop + shift.dy / ratio)
    if (shift.dy < 0) paintNames(to.surface, frame, ink, heightPx + shift.dy / ratio, heightPx)
    if (shift.dx !== 0) paintAxis(to.surface, frame, ink)
    ;(canvases[front] as HTMLCanvasElement).style.visibility = 'visible'
    from.style.visibility = 'hidden'
  }

  return {
    draw: (next, ink) => {
      if (ink !== palette) shelf.forget()
      const shift = ink === palette ? shiftOf(before, next) : undefined
      palette = ink
      if (!shift) whole(next, ink)
      else if (shift.dx !== 0 || shift.dy !== 0) shifted(next, shift, ink)
      before = next
    },
  }
}
