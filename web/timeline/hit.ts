/** What lies under a pointer, read off the frame that was drawn. */
import type { Frame, PlacedRow } from './frame.ts'
import { type Length, lengthOf } from './lengths.ts'

export interface Hit {
  readonly row: PlacedRow
  /** Tasks of the peg or bar; several when they are merged into a count. */
  readonly members: readonly number[]
  readonly x: number
  readonly y: number
}

/** Half the target: 24 px with a mouse, 48 with a finger (WCAG 2.2, 2.5.8 asks for 24). */
export function hitTest(frame: Frame, x: number, y: number, reachPx = 12): Hit | undefined {
  const row = rowUnder(frame, y)
  if (!row || x < frame.scale.leftPx) return undefined
  for (const bar of row.marks.bars) {
    const room = Math.max(bar.w, 22)
    if (x >= bar.x - 3 && x <= bar.x + room && y >= bar.y - 2 && y <= bar.y + bar.h + 3)
      return { row, members: [bar.ix], x: bar.x, y: bar.y + bar.h - 9.5 }
  }
  let best: Hit | undefined
  let bestPx = Number.POSITIVE_INFINITY
  for (const peg of row.marks.pegs) {
    const px = Math.hypot(peg.x - x, (peg.y - y) * 0.7)
    if (px <= reachPx && px < bestPx) {
      best = { row, members: peg.members, x: peg.x, y: peg.y }
      bestPx = px
    }
  }
  return best
}

/** The end of a band whose length is a choice and that has not ended yet, within so many pixels. */
export function edgeUnder(frame: Frame, x: number, y: number, nowMs: number, reachPx = 6): Length | undefined {
  const row = rowUnder(frame, y)
  if (!row || x < frame.scale.leftPx) return undefined
  for (const band of row.marks.bands) {
    const length = lengthOf(band.phase)
    if (!length || band.h < 6 || band.phase.endMs <= nowMs) continue
    if (y < band.y - 1 || y > band.y + band.h + 3) continue
    if (Math.abs(band.x + band.w - x) <= reachPx) return length
  }
  return undefined
}

export const rowUnder = (frame: Frame, y: number): PlacedRow | undefined =>
  frame.rows.find((r) => y >= r.place.y && y < r.place.y + r.place.h)

/** Where a task is drawn now, if it is. */
export function placeOfTask(
  frame: Frame,
  ix: number,
): { readonly x: number; readonly y: number; readonly row: PlacedRow } | undefined {
  for (const row of frame.rows) {
    for (const bar of row.marks.bars) if (bar.ix === ix) return { x: bar.x + 6, y: bar.y + bar.h - 9.5, row }
    for (const peg of row.marks.pegs) if (peg.members.includes(ix)) return { x: peg.x, y: peg.y, row }
  }
  return undefined
}
