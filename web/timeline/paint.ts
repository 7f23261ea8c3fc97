/** Draws a frame on any surface: screen, file or paper. */
import type { Palette } from '../palette.ts'
import type { Frame, Part, PlacedRow } from './frame.ts'
import type { Links } from './links.ts'
import { flagsOf, lookWith } from './look.ts'
import type { BandMark, BarMark, PegMark, RowMarks } from './marks.ts'
import { LATE } from './model.ts'
import { drawPeg, pegName } from './peg.ts'
import { pixelColours } from './pixels.ts'
import type { Surface } from './surface.ts'

export function paintFrame(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, scale, bodyTop } = frame
  const bottom = geometry.heightPx
  paintPart(to, frame, palette, { x1: scale.leftPx, x2: scale.leftPx + scale.widthPx, y1: bodyTop, y2: bottom })
  paintNames(to, frame, palette, bodyTop, bottom)
  if (geometry.stripPx > 0) {
    paintPart(to, frame, palette, {
      x1: scale.leftPx,
      x2: scale.leftPx + scale.widthPx,
      y1: geometry.axisPx,
      y2: bodyTop,
    })
    paintLoadNames(to, frame, palette)
  }
  paintAxis(to, frame, palette)
}

/** A part of the plot under the axis, ground and all: the whole of it, or a strip that came into sight. */
export function paintPart(to: Surface, frame: Frame, palette: Palette, part: Part): void {
  const { geometry, bodyTop } = frame
  to.clipRect(part.x1, part.y1, part.x2 - part.x1, part.y2 - part.y1, () => {
    to.rect(part.x1, part.y1, part.x2 - part.x1, part.y2 - part.y1, palette.ground)
    if (part.y2 > bodyTop) paintBody(to, frame, palette, { ...part, y1: Math.max(bodyTop, part.y1) })
    if (part.y1 < bodyTop && geometry.stripPx > 0) paintLoad(to, frame, palette, part)
    if (frame.nowX !== undefined)
      to.rect(Math.round(frame.nowX) - 1, geometry.axisPx, 2, geometry.heightPx - geometry.axisPx, palette.ink)
  })
}

function paintBody(to: Surface, frame: Frame, palette: Palette, part: Part): void {
  const { scale, bodyTop, geometry } = frame
  const bodyPx = geometry.heightPx - bodyTop
  for (const s of frame.shade)
    if (s.x < part.x2 && s.x + s.w > part.x1) to.rect(s.x, bodyTop, s.w, bodyPx, palette.shade)
  const isWhole = part.x1 <= scale.leftPx && part.x2 >= scale.leftPx + scale.widthPx
  const pixels = isWhole ? frame.pixels : frame.pixelsIn(part.x1, part.x2)
  if (pixels) to.pixels(pixels.x, pixels.y, pixels.widthPx, pixels.heightPx, pixels.kinds, pixelColours(palette))
  paintLines(to, frame, palette, part)
  for (const row of frame.rows) {
    // Signs of trouble reach a little beyond their row.
    if (row.place.y > part.y2 + 4 || row.place.y + row.place.h < part.y1 - 4) continue
    paintRow(to, row, isWhole ? row.marks : row.marksIn(part.x1, part.x2), palette, geometry.textPx, frame)
  }
  paintLinks(to, frame.linksIn(part), palette)
}

function paintLines(to: Surface, frame: Frame, palette: Palette, part: Part): void {
  const weak: number[] = []
  const strong: number[] = []
  for (const line of frame.ticks.lines) {
    if (line.x < part.x1 - 2 || line.x > part.x2 + 2) continue
    const x = crisp(line.x)
    ;(line.strong ? strong : weak).push(x, frame.bodyTop, x, frame.geometry.heightPx)
  }
  to.segments(weak, palette.hair, 0.6)
  to.segments(strong, palette.hair, 1.2)
}

const crisp = (x: number): number => Math.round(x) + 0.5

function paintRow(
  to: Surface,
  placed: PlacedRow,
  marks: RowMarks,
  palette: Palette,
  textPx: number,
  frame: Frame,
): void {
  const { place } = placed
  for (const s of marks.shut) to.rect(s.x, place.y + 2, Math.max(1, s.w), place.h - 4, palette.hair)
  for (const band of marks.bands) paintBand(to, band, palette, textPx)
  to.dotted(marks.tails, palette.quiet)
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

const GRAINED: ReadonlySet<string> = new Set(['ferment', 'malolactic', 'settle', 'macerate'])

function paintBand(to: Surface, band: BandMark, palette: Palette, textPx: number): void {
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
  to.segments(band.hatch, hue, 1)
  for (let i = 0; i < band.lines.length; i += 4) {
    const [x1, y, x2, width] = band.lines.slice(i, i + 4) as [number, number, number, number]
    to.segments([x1, y, x2, y], hue, Math.max(0.4, width))
  }
  to.rects(
    band.ticks.flatMap((x) => [Math.round(x), band.y + 1, 1, band.h * 0.38]),
    hue,
  )
  to.dots(band.dots, 1.05, hue)
  to.dots(band.rings, 2, hue, true)
  // Letters over stipple need a quiet patch under them.
  const grained = GRAINED.has(band.phase.kind)
  for (const { x, words } of band.labels) {
    if (grained) to.rect(x - 3, band.y + 1.5, words.length * textPx * 0.52 + 6, band.h - 3, fill)
    to.text(words, x, band.y + band.h / 2 + textPx * 0.36, { px: textPx, fill: palette.ink })
  }
  if (band.whisker) {
    const { x1, x2, y } = band.whisker
    to.segments([x1, y, x2, y, x1, y - 3, x1, y + 3, x2, y - 3, x2, y + 3], palette.ink, 1)
  }
  if (band.baseline) {
    const { x1, x2, y } = band.baseline
    to.segments([x1, y, x2, y, x1, y - 2.5, x1, y + 2.5, x2, y - 2.5, x2, y + 2.5], palette.ink, 2)
  }
}

function paintSpark(to: Surface, spark: NonNullable<RowMarks['spark']>, palette: Palette, textPx: number): void {
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
  to.rect(x - 2, y - textPx + 3, spark.label.length * textPx * 0.54 + 4, textPx + 1, palette.ground)
  to.text(spark.label, x, y + 1, { px: textPx, fill: palette.ink, weight: 600 })
}

function paintStems(to: Surface, pegs: readonly PegMark[], palette: Palette): void {
  const stems: number[] = []
  for (const peg of pegs) {
    const top = Math.round(peg.y + peg.size / 2)
    const foot = Math.round(peg.footY)
    if (foot - top > 2) stems.push(Math.round(peg.x), top, 1, foot - top)
  }
  to.rects(stems, palette.quiet)
}

function paintPeg(to: Surface, peg: PegMark, palette: Palette, textPx: number): void {
  const name = pegName(peg.look, peg.size, palette)
  const besideX = peg.size * 0.68 + 3
  const baseline = textPx * 0.36
  const over = peg.look.state === 'done'
  to.stamp(name, peg.size * 1.3, peg.x, peg.y, (stamp) => drawPeg(stamp, peg.look, peg.size, palette))
  if (peg.members.length > 1 && peg.size >= 6) {
    // Peg and number are two stamps: together there would be more kinds of them than can be kept.
    const count = String(peg.members.length)
    const fill = over ? palette.quiet : palette.ink
    const half = Math.max(textPx, count.length * textPx * 0.65) / 2 + 2
    to.stamp(`n ${count} ${fill} ${textPx}`, half, peg.x + besideX + half - 2, peg.y, (stamp) =>
      stamp.text(count, 2 - half, baseline, { px: textPx, fill }),
    )
    return
  }
  if (peg.label)
    to.text(peg.label, peg.x + besideX + (peg.look.conflict ? 5 : 0), peg.y + baseline, {
      px: textPx,
      fill: over ? palette.quiet : palette.ink,
    })
}

function paintBar(to: Surface, bar: BarMark, palette: Palette, textPx: number): void {
  const { look } = bar
  const hue = palette.kinds[look.family]
  const calm = lookWith(look, flagsOf(look) & ~LATE)
  const over = look.state === 'done'
  const solid = look.state === 'due' || look.late
  to.rect(bar.x, bar.y + bar.h - 4, bar.w, 4, over ? palette.hair : solid ? hue : palette.tints[look.family])
  if (look.state === 'underway') to.rect(bar.x, bar.y + bar.h - 4, (bar.w * look.eighths) / 8, 4, hue)
  const edge = over ? palette.done : look.conflict ? palette.conflict : look.state === 'planned' ? hue : palette.ink
  to.segments([bar.x, bar.y + bar.h, bar.x + bar.w, bar.y + bar.h], edge, look.conflict ? 2.4 : 1.2)
  if (look.late) to.rect(bar.x, bar.y + bar.h + 0.5, bar.w, 3, palette.late)
  to.stamp(pegName(calm, 11, palette), 15, bar.x + 6, bar.y + bar.h - 9.5, (stamp) => drawPeg(stamp, calm, 11, palette))
  to.text(bar.label, bar.x + (look.conflict ? 20 : 16), bar.y + bar.h - 5.5, {
    px: textPx,
    fill: over ? palette.quiet : palette.ink,
  })
}

function paintLinks(to: Surface, links: Links, palette: Palette): void {
  to.elbows(links.far, palette.quiet, 1)
  to.elbows(links.near, palette.ink, links.near.length > 400 ? 1 : 1.5)
  to.elbows(links.broken, palette.late, 1.5, [5, 3])
}

/** Names of the rows between two heights. */
export function paintNames(to: Surface, frame: Frame, palette: Palette, y1: number, y2: number): void {
  const { geometry } = frame
  to.rect(0, y1, geometry.gutterPx, y2 - y1, palette.ground)
  to.clipRect(0, y1, geometry.gutterPx - 6, y2 - y1, () => {
    for (const { row, place } of frame.rows) {
      if (place.h < 11 || place.y > y2 || place.y + place.h < y1) continue
      const px = geometry.textPx
      if (row.kind === 'group') {
        to.path(
          row.folded ? 'M0-4L5 0L0 4Z' : 'M-1-2H7L3 3Z',
          { x: 16, y: place.y + place.h / 2 + 1 },
          { fill: palette.quiet },
        )
        to.text(row.label, 30, place.y + place.h / 2 + 5, { px: px + 1, fill: palette.ink, weight: 600 })
        to.text(row.note, 30 + row.label.length * px * 0.62 + 10, place.y + place.h / 2 + 5, {
          px,
          fill: palette.quiet,
        })
        continue
      }
      const two = place.h >= 34
      const base = two ? place.y + place.h / 2 - 1 : place.y + place.h / 2 + px * 0.36
      to.text(row.label, 16, base, { px: px + 1, fill: palette.ink, weight: 600 })
      if (two) to.text(row.note, 16, base + px + 3, { px, fill: palette.quiet })
      else if (place.h >= 18)
        to.text(row.note, 16 + row.label.length * px * 0.66 + 10, base, { px, fill: palette.quiet })
    }
  })
}

const FEW_TICKS = 12

export function paintAxis(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, scale, ticks } = frame
  const px = geometry.textPx
  to.rect(0, 0, geometry.widthPx, geometry.axisPx, palette.ground)
  to.clipRect(scale.leftPx, 0, scale.widthPx, geometry.axisPx, () => {
    for (const head of ticks.upper) {
      const x = Math.max(scale.leftPx, head.x)
      const fits = [head.label, head.short].find((words) => words && head.toX - x > words.length * (px + 4) * 0.58 + 4)
      if (fits) to.text(fits, x + 1, px + 9, { px: px + 4, fill: palette.ink, weight: 600 })
    }
    // A week names all its days, tag or not: on paper a day without a name is a day lost.
    const tag = ticks.lower.length > FEW_TICKS ? nowTag(frame) : undefined
    for (const tick of ticks.lower) {
      const half = tick.label.length * px * 0.3
      // Under the date of now a tick would show by half.
      if (tag && tick.x + half > tag.left && tick.x - half < tag.left + tag.w) continue
      to.text(tick.label, tick.x, geometry.axisPx - 6, {
        px,
        fill: tick.strong ? palette.ink : palette.quiet,
        align: 'middle',
        ...(tick.strong && { weight: 600 as const }),
      })
    }
  })
  paintNow(to, frame, palette)
}

function paintLoad(to: Surface, frame: Frame, palette: Palette, part: Part): void {
  const { geometry, scale } = frame
  const top = geometry.axisPx
  const base = top + geometry.stripPx - 6
  const room = geometry.stripPx - 16
  const y = (h: number) => base - Math.min(1, h / frame.loadMostH) * room
  to.rect(part.x1, top, part.x2 - part.x1, geometry.stripPx, palette.ground)
  const crew: number[] = []
  const within: number[] = []
  const beyond: number[] = []
  const press: number[] = []
  const cold: number[] = []
  const most: number[] = []
  const columns = frame.load.filter((c) => c.x - c.w < part.x2 && c.x + 2 * c.w > part.x1)
  let before: number | undefined
  for (const c of columns) {
    const gap = c.w > 5 ? Math.min(3, c.w * 0.12) : 0
    const w = Math.max(1, c.w - 2 * gap)
    const held = y(Math.min(c.workH, c.crewH))
    if (c.workH > 0) within.push(c.x + gap, held, w, base - held)
    if (c.workH > c.crewH) beyond.push(c.x + gap, y(c.workH), w, held - y(c.workH))
    const pressPx = Math.max(1.5, (c.pressH / frame.loadMostH) * room)
    if (c.pressH > 0) press.push(c.x + gap, base - pressPx, Math.min(3, w), pressPx)
    const coldPx = Math.min(1.15, c.coldShare) * room * 0.8
    // Against the chillers: the short stroke is all they give; what is over it nobody can give.
    if (coldPx > 0) {
      const at = c.x + c.w - gap - Math.min(3, w)
      cold.push(at, base - Math.min(coldPx, room * 0.8), Math.min(3, w), Math.min(coldPx, room * 0.8))
      if (c.coldShare > 1) beyond.push(at, base - coldPx, Math.min(3, w), coldPx - room * 0.8)
      if (c.w > 8 && c.coldShare > 0.25) most.push(at - 3, base - room * 0.8, at + 6, base - room * 0.8)
    }
    const limit = y(c.crewH)
    if (before !== undefined && before !== limit) crew.push(c.x, before, c.x, limit)
    crew.push(c.x, limit, c.x + c.w, limit)
    before = limit
  }
  to.rects(within, palette.hair)
  to.rects(beyond, palette.late)
  to.rects(press, palette.kinds.juice)
  to.rects(cold, palette.kinds.check)
  to.segments(most, palette.kinds.check, 1)
  for (const c of columns)
    if (c.w > 46 && c.workH > 0)
      to.text(`${Math.round(c.workH)} h`, c.x + c.w / 2, base - 4, {
        px: geometry.textPx,
        fill: palette.ink,
        align: 'middle',
      })
  to.segments(crew, palette.ink, 1)
  to.segments([scale.leftPx, base + 0.5, scale.leftPx + scale.widthPx, base + 0.5], palette.hair, 1)
}

function paintLoadNames(to: Surface, { geometry, hasCold }: Frame, palette: Palette): void {
  const { axisPx: top, textPx: px, stripPx } = geometry
  to.rect(0, top, geometry.gutterPx, geometry.stripPx, palette.ground)
  to.text('Hours a day', 16, top + px + 2, { px, fill: palette.quiet })
  to.text('line: the crew', 16, top + px * 2 + 4, { px, fill: palette.quiet })
  const y = top + px * 3 + 6
  if (y > top + stripPx) return
  to.rect(16, y - 8, 3, 9, palette.kinds.juice)
  to.text('press', 23, y, { px, fill: palette.quiet })
  if (!hasCold) return
  to.rect(62, y - 8, 3, 9, palette.kinds.check)
  to.text('cold of the chillers', 69, y, { px, fill: palette.quiet })
}

function nowTag({ nowX, nowLabel, geometry, scale }: Frame) {
  if (nowX === undefined) return undefined
  const x = Math.round(nowX)
  const w = nowLabel.length * geometry.textPx * 0.56 + 12
  return { x, w, left: Math.max(scale.leftPx, Math.min(scale.leftPx + scale.widthPx - w, x - w / 2)) }
}

/** The date of now over the axis; its line runs through the plot. */
function paintNow(to: Surface, frame: Frame, palette: Palette): void {
  const tag = nowTag(frame)
  if (!tag) return
  const { geometry } = frame
  const { x, w, left } = tag
  to.rect(x - 1, geometry.axisPx - 2, 2, 2, palette.ink)
  to.rect(left, geometry.axisPx - geometry.textPx - 8, w, geometry.textPx + 7, palette.ink)
  to.text(frame.nowLabel, left + w / 2, geometry.axisPx - 5, {
    px: geometry.textPx,
    fill: palette.ground,
    weight: 600,
    align: 'middle',
  })
}
