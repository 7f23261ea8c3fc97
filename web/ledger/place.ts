/** Heights of nodes in their columns: near what they are tied to, never over each other. */
import type { Step } from './order.ts'

const SWEEPS = 8

/**
 * Middles of nodes, px. Each column is solved exactly: the places nearest to the wished ones (least squares) that keep
 * the order and the room between neighbours.
 *
 * @param heights px by id
 * @param gapPx   least room between two neighbours of a column
 */
export function middles(
  columns: readonly (readonly string[])[],
  steps: readonly Step[],
  heights: ReadonlyMap<string, number>,
  gapPx: (above: string, below: string) => number,
): ReadonlyMap<string, number> {
  const before = ties(steps, 'to', 'from')
  const after = ties(steps, 'from', 'to')
  const middle = new Map<string, number>()
  const height = (id: string) => heights.get(id) ?? 0
  const roomOf = (column: readonly string[]) =>
    column.slice(1).map((id, i) => {
      const above = column[i] as string
      return (height(above) + height(id)) / 2 + gapPx(above, id)
    })
  for (const column of columns) {
    const packed = apart(
      column.map(() => 0),
      roomOf(column),
    )
    column.forEach((id, i) => {
      middle.set(id, packed[i] as number)
    })
  }
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    const tied = sweep % 2 === 0 ? after : before
    const order = sweep % 2 === 0 ? [...columns].reverse() : columns
    for (const column of order) {
      const wished = column.map((id) => wish(tied.get(id), middle) ?? (middle.get(id) as number))
      const placed = apart(wished, roomOf(column))
      column.forEach((id, i) => {
        middle.set(id, placed[i] as number)
      })
    }
  }
  return middle
}

type Ties = ReadonlyMap<string, readonly Tie[]>

interface Tie {
  readonly id: string
  readonly weight: number
}

function ties(steps: readonly Step[], at: 'from' | 'to', other: 'from' | 'to'): Ties {
  const out = new Map<string, Tie[]>()
  for (const step of steps) {
    const list = out.get(step[at])
    const tie = { id: step[other], weight: step.weight }
    if (list) list.push(tie)
    else out.set(step[at], [tie])
  }
  return out
}

/** The weighted mean of what a node is tied to; absent: it is tied to nothing on that side. */
function wish(list: readonly Tie[] | undefined, middle: ReadonlyMap<string, number>): number | undefined {
  if (!list) return undefined
  const weight = list.reduce((sum, tie) => sum + tie.weight, 0)
  return list.reduce((sum, tie) => sum + (middle.get(tie.id) ?? 0) * tie.weight, 0) / weight
}

interface Block {
  readonly sum: number
  readonly count: number
}

/**
 * The places nearest to the wished ones with at least `room[i]` between the i-th and the next: pooling of adjacent
 * violators on the wishes less the room above (definition of isotonic regression).
 */
export function apart(wished: readonly number[], room: readonly number[]): readonly number[] {
  const offset: number[] = [0]
  for (const space of room) offset.push((offset.at(-1) as number) + space)
  const blocks: Block[] = []
  wished.forEach((wish, i) => {
    let block: Block = { sum: wish - (offset[i] as number), count: 1 }
    while (blocks.length > 0) {
      const above = blocks.at(-1) as Block
      if (above.sum / above.count <= block.sum / block.count) break
      blocks.pop()
      block = { sum: above.sum + block.sum, count: above.count + block.count }
    }
    blocks.push(block)
  })
  return blocks
    .flatMap((block) => new Array<number>(block.count).fill(block.sum / block.count))
    .map((at, i) => at + (offset[i] as number))
}
