/** Bands: what the wine does by itself, with its grain, and readings over it. */
import type { Palette } from '../palette.ts'
import { LETTER_SHARE } from './frame.ts'
import type { BandMark, RowMarks } from './marks.ts'
import type { Surface } from './surface.ts'

const GRAINED: ReadonlySet<string> = new Set(['ferment', 'malolactic', 'settle', 'macerate', 'lees'])

export function paintBand(
  to: Surface,
  band: BandMark,
  palette: Palette,
  textPx: number,
  letterPx = textPx * LETTER_SHARE,
): void {
  const hue = palette.kinds[band.phase.hue]
  const tint = palette.tints[band.phase.hue]
  const at = { x: band.x, y: band.y }
  if (band.h < 5) {
    to.rect(band.x, band.y, band.w, band.h, hue)
    return
  }
  const resting = band.phase.kind === 'store'
  const fill = resting ? palette.ground : tint
  if (band.phase.shape === 'tank') {
    to.rect(band.x, band.y, band.w, band.h, hue)
    to.rect(band.x + 1, band.y + 1, band.w - 2, band.h - 2, fill)
  } else to.path(band.path, at, { fill, stroke: hue, width: 1 })
  if (band.hatch) to.teeth(band.hatch, hue)
  for (let i = 0; i < band.lines.length; i += 4) {
    const [x1, y, x2, width] = band.lines.slice(i, i + 4) as [number, number, number, number]
    to.segments([x1, y, x2, y], hue, Math.max(0.4, width))
  }
  if (band.ticks) to.teeth(band.ticks, hue)
  to.dots(band.dots, 1.05, hue)
  to.dots(band.rings, 2, hue, true)
  // Letters over stipple and hatch need a quiet patch under them.
  const grained = GRAINED.has(band.phase.kind)
  for (const { x, words } of band.labels) {
    if (grained) to.rect(x - 3, band.y + 1.5, words.length * letterPx + 6, band.h - 3, fill)
    // The patch may have cut into an edge that is not straight.
    if (grained && band.path) to.path(band.path, at, { stroke: hue, width: 1 })
    to.text(words, x, band.y + band.h / 2 + textPx * 0.34, { px: textPx, fill: palette.ink })
  }
  if (band.whisker) {
    const { x1, x2, y } = band.whisker
    to.segments([x1, y, x2, y, x1, y - 2, x1, y + 2, x2, y - 2, x2, y + 2], palette.ink, 1)
  }
  if (band.baseline) {
    const { x1, x2, y } = band.baseline
    to.segments([x1, y, x2, y, x1, y - 2.5, x1, y + 2.5, x2, y - 2.5, x2, y + 2.5], palette.ink, 2)
  }
}

export function paintSpark(to: Surface, spark: NonNullable<RowMarks['spark']>, palette: Palette, textPx: number): void {
  const { points } = spark
  const line: number[] = []
  for (let i = 2; i < points.length; i += 2)
    line.push(points[i - 2] as number, points[i - 1] as number, points[i] as number, points[i + 1] as number)
  to.segments(line, palette.ground, 4)
  to.segments(line, palette.ink, 1.5)
  to.dots(points, 1.8, palette.ink)
  // Over a whole season the course is enough.
  if (textPx === 0) return
  const x = (points.at(-2) ?? 0) + 5
  const y = points.at(-1) ?? 0
  to.rect(x - 2, y - textPx + 3, spark.label.length * textPx * 0.62 + 4, textPx + 1, palette.ground)
  to.text(spark.label, x, y + 1, { px: textPx, fill: palette.ink, weight: 600 })
}
