/** The strip over the rows: the load of each day. */
import type { Palette } from '../palette.ts'
import type { Frame } from './frame.ts'
import { paintNowLine } from './paint-axis.ts'
import type { Surface } from './surface.ts'

/** Hours of work against the crew, the press, the cold against the chillers: a column a day, and the line of now. */
export function paintLoad(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, scale } = frame
  const top = geometry.axisPx
  const base = top + geometry.stripPx - 6
  const room = geometry.stripPx - 16
  const y = (h: number) => base - Math.min(1, h / frame.loadMostH) * room
  to.rect(scale.leftPx, top, scale.widthPx, geometry.stripPx, palette.ground)
  const crew: number[] = []
  const within: number[] = []
  const beyond: number[] = []
  const press: number[] = []
  const cold: number[] = []
  const most: number[] = []
  let before: number | undefined
  for (const c of frame.load) {
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
    // Where days are slivers, a line down to nothing at every weekend would be a comb.
    if (c.w < 4 && c.crewH === 0 && before !== undefined) {
      crew.push(c.x, before, c.x + c.w, before)
      continue
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
  for (const c of frame.load)
    if (c.w > 46 && c.workH > 0)
      to.text(`${Math.round(c.workH)} h`, c.x + c.w / 2, base - 4, {
        px: geometry.textPx,
        fill: palette.ink,
        align: 'middle',
      })
  to.segments(crew, palette.ink, 1)
  to.segments([scale.leftPx, base + 0.5, scale.leftPx + scale.widthPx, base + 0.5], palette.hair, 1)
  paintNowLine(to, frame, palette, top, geometry.stripPx)
}

export function paintLoadNames(to: Surface, { geometry, hasCold }: Frame, palette: Palette): void {
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
  to.text('cooling', 69, y, { px, fill: palette.quiet })
}
