/** What a pan or a scroll leaves as it was is copied, not drawn again: pure arithmetic of the parts. */
import type { Frame, Part } from './frame.ts'

export interface Shift {
  /** How far what was drawn moves, in whole device pixels. */
  readonly dx: number
  readonly dy: number
}

/** Everything a frame is drawn from but the place one looks at; compared by identity. */
export type Basis = readonly unknown[]

export interface Drawn {
  readonly frame: Frame
  readonly scrollPx: number
  readonly ratio: number
  readonly basis: Basis
}

/**
 * How a frame follows from the one before, or undefined where it must be drawn whole: another plan, another zoom,
 * another size, or nothing left of what was drawn.
 */
export function shiftOf(before: Drawn | undefined, next: Drawn): Shift | undefined {
  if (!before || before.ratio !== next.ratio || before.basis.length !== next.basis.length) return undefined
  if (before.basis.some((value, i) => value !== next.basis[i])) return undefined
  const { scale, geometry, bodyTop, level } = next.frame
  // At day zoom rows grow and shrink with the work in sight.
  if (level === 'bars' || before.frame.level !== level || before.frame.scale.pxPerMs !== scale.pxPerMs) return undefined
  const { ratio } = next
  // Parts are cut on whole device pixels, or a seam would show. A column of the overview is a CSS pixel wide.
  if (level === 'pixels' && ratio !== 1) return undefined
  if (![geometry.gutterPx, geometry.axisPx, bodyTop].every((px) => Number.isInteger(px * ratio))) return undefined
  const dx = Math.round((before.frame.scale.fromMs - scale.fromMs) * scale.pxPerMs * ratio)
  const dy = Math.round((before.scrollPx - next.scrollPx) * ratio)
  const bodyPx = geometry.heightPx - bodyTop
  if (Math.abs(dx) >= scale.widthPx * ratio * 0.8 || Math.abs(dy) >= bodyPx * ratio * 0.8) return undefined
  return { dx, dy }
}

/** What came into sight: a strip at the side, from the axis down, and one above or below. */
export function freshParts({ dx, dy }: Shift, frame: Frame, ratio: number): readonly Part[] {
  const { scale, geometry, bodyTop } = frame
  const left = scale.leftPx
  const right = left + scale.widthPx
  const bottom = geometry.heightPx
  const parts: Part[] = []
  const w = dx / ratio
  const h = dy / ratio
  if (dx > 0) parts.push({ x1: left, x2: left + w, y1: geometry.axisPx, y2: bottom })
  if (dx < 0) parts.push({ x1: right + w, x2: right, y1: geometry.axisPx, y2: bottom })
  if (dy > 0) parts.push({ x1: left, x2: right, y1: bodyTop, y2: bodyTop + h })
  if (dy < 0) parts.push({ x1: left, x2: right, y1: bottom + h, y2: bottom })
  return parts
}
