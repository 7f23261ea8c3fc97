/** Draws a frame on any surface: screen, file or paper. */
import type { Palette } from '../palette.ts'
import type { Frame, PlacedRow } from './frame.ts'
import type { Links } from './links.ts'
import { paintAxis, paintNames, paintNowLine } from './paint-axis.ts'
import { paintBand, paintSpark } from './paint-band.ts'
import { paintLoad, paintLoadNames } from './paint-load.ts'
import { paintBar, paintPeg, paintStems } from './paint-peg.ts'
import { pixelColours } from './pixels.ts'
import type { Surface } from './surface.ts'

export function paintFrame(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, scale, bodyTop } = frame
  to.clipRect(scale.leftPx, bodyTop, scale.widthPx, geometry.heightPx - bodyTop, () => paintBody(to, frame, palette))
  paintNames(to, frame, palette)
  if (geometry.stripPx > 0) {
    to.clipRect(scale.leftPx, geometry.axisPx, scale.widthPx, geometry.stripPx, () => paintLoad(to, frame, palette))
    paintLoadNames(to, frame, palette)
  }
  paintAxis(to, frame, palette)
}

/** The rows, ground and all. */
export function paintBody(to: Surface, frame: Frame, palette: Palette): void {
  const { scale, bodyTop, geometry } = frame
  const bodyPx = geometry.heightPx - bodyTop
  to.rect(scale.leftPx, bodyTop, scale.widthPx, bodyPx, palette.ground)
  for (const s of frame.shade) to.rect(s.x, bodyTop, s.w, bodyPx, palette.shade)
  const { pixels } = frame
  if (pixels) to.pixels(pixels.x, pixels.y, pixels.widthPx, pixels.heightPx, pixels.kinds, pixelColours(palette))
  paintLines(to, frame, palette)
  for (const row of frame.rows) paintRow(to, row, palette, frame)
  paintLinks(to, frame.links, palette)
  paintNowLine(to, frame, palette, bodyTop, bodyPx)
}

function paintLines(to: Surface, frame: Frame, palette: Palette): void {
  const weak: number[] = []
  const strong: number[] = []
  for (const line of frame.ticks.lines) {
    const x = crisp(line.x)
    ;(line.strong ? strong : weak).push(x, frame.bodyTop, x, frame.geometry.heightPx)
  }
  to.segments(weak, palette.hair, 0.6)
  to.segments(strong, palette.hair, 1.2)
}

const crisp = (x: number): number => Math.round(x) + 0.5

function paintRow(to: Surface, placed: PlacedRow, palette: Palette, frame: Frame): void {
  const { place, marks } = placed
  const { textPx, letterPx } = frame.geometry
  for (const s of marks.shut) to.rect(s.x, place.y + 2, Math.max(1, s.w), place.h - 4, palette.hair)
  for (const band of marks.bands) paintBand(to, band, palette, textPx, letterPx)
  to.dotted(marks.tails, palette.quiet)
  to.segments(marks.shelves, palette.quiet, 1.2, [6, 3])
  if (marks.spark) paintSpark(to, marks.spark, palette, place.level === 'full' ? textPx : 0)
  for (let i = 0; i < marks.ghosts.length; i += 3) {
    const [thenX, x, y] = marks.ghosts.slice(i, i + 3) as [number, number, number]
    to.segments([Math.min(thenX, x), y, Math.max(thenX, x), y], palette.quiet, 1, [3, 3])
    to.dots([thenX, y], 3, palette.quiet, true)
  }
  if (place.level !== 'ticks') paintStems(to, marks.pegs, palette)
  for (const peg of marks.pegs) paintPeg(to, peg, palette, textPx)
  for (const bar of marks.bars) paintBar(to, bar, palette, textPx)
  if (placed.row.kind === 'group')
    to.segments(
      [frame.scale.leftPx, place.y + place.h - 5.5, frame.scale.leftPx + frame.scale.widthPx, place.y + place.h - 5.5],
      palette.hair,
      1,
    )
}

function paintLinks(to: Surface, links: Links, palette: Palette): void {
  to.elbows(links.far, palette.quiet, 1)
  to.elbows(links.near, palette.ink, links.near.length > 400 ? 1 : 1.5)
  to.elbows(links.broken, palette.late, 1.5, [5, 3])
}
