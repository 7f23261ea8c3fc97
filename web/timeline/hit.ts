/** What lies under a pointer, read off the frame that was drawn. */
import type { Frame, PlacedRow } from './frame.ts'

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
