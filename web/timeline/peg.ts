/** One peg: family by outline, state by fill, trouble by a second sign that needs no hue. */
import type { Palette } from '../palette.ts'
import { LOOK_CODES, type PegLook } from './look.ts'
import { PEG_PATHS } from './shape.ts'
import type { Surface } from './surface.ts'

const GROUNDS: readonly Palette['name'][] = ['day', 'night', 'forced', 'paper']

/** One number that tells all a peg's drawing depends on: numbers are found faster than words, a thousand times a frame. */
export const pegName = (look: PegLook, size: number, palette: Palette): number =>
  (GROUNDS.indexOf(palette.name) * 64 + Math.round(size * 2)) * LOOK_CODES + look.code

/** Drawn about the origin; a stamp of `size * 1.2` half width holds it all. */
export function drawPeg(to: Surface, look: PegLook, size: number, palette: Palette): void {
  const scale = size / 12
  const path = PEG_PATHS[look.family]
  const at = { x: 0, y: 0, scale }
  const hue = palette.kinds[look.family]
  const tint = palette.tints[look.family]
  if (size < 6) {
    const colour = look.late || look.conflict ? palette.late : look.state === 'done' ? palette.done : hue
    to.rect(-0.75, -size, 1.5, size * 2, colour)
    return
  }
  if (look.state === 'done') {
    to.path(path, { x: 0, y: 0, scale: scale * 0.62 }, { stroke: palette.done, width: 1.6 })
    to.segments([-size * 0.5, size * 0.36, size * 0.5, -size * 0.36], palette.done, 1.1)
    return
  }
  const edge = look.conflict
    ? { stroke: palette.conflict, width: 2.4 }
    : look.state === 'planned' && !look.late
      ? { stroke: hue, width: 1.6 }
      : { stroke: palette.ink, width: 1.2 }
  const solid =
    look.state === 'due' || look.late || (look.conflict && look.state !== 'blocked' && look.state !== 'underway')
  to.path(path, at, { fill: solid ? hue : tint, ...edge })
  if (look.state === 'underway' && !solid) {
    to.clipRect(-8 * scale, -9 * scale, (16 * scale * look.eighths) / 8, 18 * scale, () =>
      to.path(path, at, { fill: hue }),
    )
    to.path(path, at, edge)
  }
  if (look.state === 'blocked') {
    const hatch: number[] = []
    for (let i = -16; i <= 16; i += 4.2) hatch.push((i - 9) * scale, 9 * scale, (i + 9) * scale, -9 * scale)
    to.clipPath(path, at, () => to.segments(hatch, palette.ink, 1.6 * scale))
    to.path(path, at, edge)
  }
  if (look.late) to.rect(-size * 0.72, size * 0.76, size * 1.44, 3, palette.late)
  if (look.conflict) {
    to.rect(size * 0.78, -size * 0.5, 2, size * 0.62, palette.conflict)
    to.rect(size * 0.78, size * 0.28, 2, 2, palette.conflict)
  }
  if (look.pinned) {
    // A pin: a head and a point, in ink, over the upper left.
    to.segments([-size * 0.62, -size * 0.62, -size * 0.62, -size * 0.12], palette.ink, 1.2)
    to.dots([-size * 0.62, -size * 0.66], 1.9, palette.ink)
  }
}
