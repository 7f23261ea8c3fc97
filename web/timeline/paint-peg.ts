/** Pegs on their stems; and at day zoom work at its true length. */
import type { Palette } from '../palette.ts'
import { flagsOf, lookWith } from './look.ts'
import type { BarMark, PegMark } from './marks.ts'
import { LATE } from './model.ts'
import { drawPeg, pegName } from './peg.ts'
import type { Surface } from './surface.ts'

export function paintStems(to: Surface, pegs: readonly PegMark[], palette: Palette): void {
  const stems: number[] = []
  for (const peg of pegs) {
    const top = Math.round(peg.y + peg.size / 2)
    const foot = Math.round(peg.footY)
    if (foot - top > 2) stems.push(Math.round(peg.x), top, 1, foot - top)
  }
  to.rects(stems, palette.quiet)
}

export function paintPeg(to: Surface, peg: PegMark, palette: Palette, textPx: number): void {
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

export function paintBar(to: Surface, bar: BarMark, palette: Palette, textPx: number): void {
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
