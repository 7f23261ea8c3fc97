/** Links that leave a sheet: a line to its edge, an arrow there, and the number of the sheet where they go on. */
import type { Palette } from '../palette.ts'
import type { Frame } from './frame.ts'
import { placeOfTask } from './hit.ts'
import { brokenPairs, rowOfTasks } from './links.ts'
import { neighboursOf } from './model.ts'
import type { PrintInput, PrintWish, Tile } from './print.ts'
import type { Row } from './rows.ts'
import type { Surface } from './surface.ts'

/** A link with one end on this sheet: where it leaves, and the sheet that has its other end. */
interface Leaving {
  readonly x: number
  readonly y: number
  readonly edge: 'left' | 'right' | 'top' | 'bottom'
  readonly sheet: number
  readonly broken: boolean
}

export function leavingLinks(
  input: PrintInput,
  wish: PrintWish,
  frame: Frame,
  tile: Tile,
  tiles: readonly Tile[],
): readonly Leaving[] {
  const { model } = input
  const rowOf = rowOfTasks(input.rows, model.startMs.length)
  const sheetOf = (ix: number): number =>
    tiles.findIndex(
      (t) =>
        t.rows.includes(input.rows[rowOf[ix] as number] as Row) &&
        (model.startMs[ix] as number) >= t.fromMs &&
        (model.startMs[ix] as number) < t.toMs,
    )
  const here = tiles.indexOf(tile)
  const out: Leaving[] = []
  const look = (prev: number, next: number, broken: boolean) => {
    const [a, b] = [sheetOf(prev), sheetOf(next)]
    if (a === b || (a !== here && b !== here) || a < 0 || b < 0) return
    const [mine, other, sheet] = a === here ? [prev, next, b] : [next, prev, a]
    const spot = placeOfTask(frame, mine)
    if (!spot) return
    const otherMs = model.startMs[other] as number
    const edge =
      otherMs >= tile.toMs
        ? 'right'
        : otherMs < tile.fromMs
          ? 'left'
          : (rowOf[other] as number) > (rowOf[mine] as number)
            ? 'bottom'
            : 'top'
    out.push({ x: spot.x, y: spot.y, edge, sheet: sheet + 1, broken })
  }
  for (const [prev, next] of brokenPairs(model)) look(prev, next, true)
  if (wish.links)
    for (let next = 0; next < model.startMs.length; next++)
      for (const prev of neighboursOf(model.prev, next)) look(prev, next, false)
  return out
}

/** A line to the edge, an arrow there, and the number of the sheet where it goes on. */
export function paintLeaving(to: Surface, frame: Frame, palette: Palette, links: readonly Leaving[]): void {
  const { scale, geometry, bodyTop } = frame
  const right = scale.leftPx + scale.widthPx
  for (const { x, y, edge, sheet, broken } of links) {
    const colour = broken ? palette.late : palette.ink
    const word = String(sheet)
    if (edge === 'left' || edge === 'right') {
      const end = edge === 'right' ? right - 8 - word.length * 7 : scale.leftPx + 8 + word.length * 7
      const tip = edge === 'right' ? 5 : -5
      to.segments([x, y, end, y], colour, 1, [4, 2])
      to.path(`M0-3L${tip} 0L0 3Z`, { x: end, y }, { fill: colour })
      to.text(word, edge === 'right' ? right - 1 : scale.leftPx + 1, y + 4, {
        px: 12,
        fill: colour,
        align: edge === 'right' ? 'end' : 'start',
      })
      continue
    }
    const end = edge === 'top' ? bodyTop + 14 : geometry.heightPx - 14
    to.segments([x, y, x, end], colour, 1, [4, 2])
    to.path(edge === 'top' ? 'M-3 0L0-5L3 0Z' : 'M-3 0L0 5L3 0Z', { x, y: end }, { fill: colour })
    to.text(word, x + 5, end + 4, { px: 12, fill: colour })
  }
}
