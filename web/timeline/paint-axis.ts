/** The dates over the plot, the date of now among them, and the names beside it. */
import type { Palette } from '../palette.ts'
import { clip } from './clusters.ts'
import type { Frame } from './frame.ts'
import type { Surface } from './surface.ts'

const FEW_TICKS = 12
/** Width of a bold letter against its height. */
const WIDE = 0.64

export function paintAxis(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, scale, ticks } = frame
  const px = geometry.textPx
  to.rect(0, 0, geometry.widthPx, geometry.axisPx, palette.ground)
  to.clipRect(scale.leftPx, 0, scale.widthPx, geometry.axisPx, () => {
    for (const head of ticks.upper) {
      const x = Math.max(scale.leftPx, head.x)
      const room = head.toX - x - 8
      // Large where there is room for it, then small; a name that would touch the next is left out.
      for (const size of [px + 4, px + 1]) {
        const fits = [head.label, head.short].find((words) => words && words.length * size * WIDE <= room)
        if (!fits) continue
        to.text(fits, x + 1, px + 9, { px: size, fill: palette.ink, weight: 600 })
        break
      }
    }
    // A week names all its days, tag or not: on paper a day without a name is a day lost.
    const tag = ticks.lower.length > FEW_TICKS ? nowTag(frame) : undefined
    for (const [i, tick] of ticks.lower.entries()) {
      const half = tick.label.length * px * 0.3
      // The first of them may stand at the very edge, unless it would run into the next.
      const x = Math.max(tick.x, scale.leftPx + half + 1)
      const next = ticks.lower[i + 1]
      if (x > tick.x && next && next.x - next.label.length * px * 0.34 < x + half + 4) continue
      // Under the date of now a tick would show by half.
      if (tag && tick.x + half > tag.left && tick.x - half < tag.left + tag.w) continue
      to.text(tick.label, x, geometry.axisPx - 6, {
        px,
        fill: tick.strong ? palette.ink : palette.quiet,
        align: 'middle',
        ...(tick.strong && { weight: 600 as const }),
      })
    }
  })
  paintNow(to, frame, palette)
}

export function paintNowLine(to: Surface, { nowX }: Frame, palette: Palette, y: number, h: number): void {
  if (nowX !== undefined) to.rect(Math.round(nowX) - 1, y, 2, h, palette.ink)
}

function nowTag({ nowX, nowLabel, geometry, scale }: Frame) {
  if (nowX === undefined) return undefined
  const x = Math.round(nowX)
  const w = nowLabel.length * geometry.textPx * WIDE + 12
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

/** Names of the rows. */
export function paintNames(to: Surface, frame: Frame, palette: Palette): void {
  const { geometry, bodyTop } = frame
  const bodyPx = geometry.heightPx - bodyTop
  to.rect(0, bodyTop, geometry.gutterPx, bodyPx, palette.ground)
  to.clipRect(0, bodyTop, geometry.gutterPx - 6, bodyPx, () => {
    for (const { row, place } of frame.rows) {
      if (place.h < 11) continue
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
      else if (place.h >= 18) {
        const x = 16 + row.label.length * px * 0.66 + 10
        to.text(clip(row.note, geometry.gutterPx - 8 - x, px * 0.56), x, base, { px, fill: palette.quiet })
      }
    }
  })
}
