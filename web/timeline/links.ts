/** Links between tasks: those of the focused one over two hops, the broken ones always, all of them on demand. */
import { eachTouching, type Intervals, indexIntervals } from './interval.ts'
import { type Model, neighboursOf } from './model.ts'
import type { Row } from './rows.ts'
import { msOf, type Scale, xOf } from './scale.ts'

/** x1, y1, x2, y2 of each link, by what it is. */
export interface Links {
  readonly near: readonly number[]
  readonly far: readonly number[]
  readonly broken: readonly number[]
}

export interface LinkInput {
  readonly model: Model
  readonly rows: readonly Row[]
  readonly scale: Scale
  /** Height at which a row's links run. */
  readonly middle: (row: number) => number
  readonly focusIx?: number
  readonly allLinks?: boolean
}

/** The rows in sight. */
export interface LinkPart {
  readonly firstRow: number
  readonly lastRow: number
}

export function linkMarks(input: LinkInput, part: LinkPart): Links {
  const { model, focusIx } = input
  const links = { near: [] as number[], far: [] as number[], broken: [] as number[] }
  const broken = brokenPairs(model)
  if (focusIx === undefined && !input.allLinks && broken.length === 0) return links
  const rowOf = rowOfTasks(input.rows, model.startMs.length)
  const add = (prev: number, next: number, into: number[]) => {
    const from = rowOf[prev] as number
    const to = rowOf[next] as number
    if (from < 0 || to < 0) return
    const x1 = xOf(input.scale, leavesMs(model, prev, next))
    const x2 = xOf(input.scale, model.startMs[next] as number)
    // Shorter than its own elbow in one row, a link is only a blot.
    if (from === to && x2 - x1 < 4) return
    into.push(x1, input.middle(from), x2, input.middle(to))
  }
  if (input.allLinks) everyLink(input, part, (prev, next) => add(prev, next, links.near))
  for (const [prev, next] of broken) add(prev, next, links.broken)
  if (focusIx !== undefined) {
    for (const prev of neighboursOf(model.prev, focusIx)) {
      add(prev, focusIx, links.near)
      for (const far of neighboursOf(model.prev, prev)) add(far, prev, links.far)
    }
    for (const next of neighboursOf(model.next, focusIx)) {
      add(focusIx, next, links.near)
      for (const far of neighboursOf(model.next, next)) add(next, far, links.far)
    }
  }
  return links
}

const leavesMs = (model: Model, prev: number, next: number): number =>
  Math.max(Math.min(model.endMs[prev] as number, model.startMs[next] as number), model.startMs[prev] as number)

/** Calls back once for each link that passes through what is in sight. */
function everyLink(input: LinkInput, part: LinkPart, visit: (prev: number, next: number) => void): void {
  const table = tableOf(input.rows, input.model)
  const { leftPx, widthPx } = input.scale
  const fromMs = msOf(input.scale, leftPx - 8)
  const toMs = msOf(input.scale, leftPx + widthPx + 8)
  for (let row = part.firstRow; row <= part.lastRow; row++)
    eachTouching(
      intervalsOf(table, input.model, row),
      (link) => input.model.startMs[table.next[link] as number] as number,
      fromMs,
      toMs,
      (link) => {
        // A link over several rows stands in each of them; the first in sight draws it.
        if (Math.max(table.topRow[link] as number, part.firstRow) === row)
          visit(table.prev[link] as number, table.next[link] as number)
      },
    )
}

interface LinkTable {
  readonly prev: Int32Array
  readonly next: Int32Array
  readonly topRow: Int32Array
  /** Links of row r: at[from[r]..from[r + 1]). */
  readonly from: Int32Array
  readonly at: Int32Array
  readonly byRow: (Intervals | undefined)[]
}

const tables = new WeakMap<readonly Row[], LinkTable>()

function tableOf(rows: readonly Row[], model: Model): LinkTable {
  const known = tables.get(rows)
  if (known) return known
  const rowOf = rowOfTasks(rows, model.startMs.length)
  const count = model.prev.at.length
  const prev = new Int32Array(count)
  const next = new Int32Array(count)
  const topRow = new Int32Array(count).fill(-1)
  const bottomRow = new Int32Array(count)
  const from = new Int32Array(rows.length + 1)
  for (let task = 0, link = 0; task < model.startMs.length; task++)
    for (; link < (model.prev.from[task + 1] as number); link++) {
      const other = model.prev.at[link] as number
      prev[link] = other
      next[link] = task
      const a = rowOf[other] as number
      const b = rowOf[task] as number
      if (a < 0 || b < 0) continue
      topRow[link] = Math.min(a, b)
      bottomRow[link] = Math.max(a, b)
      for (let row = Math.min(a, b); row <= Math.max(a, b); row++) from[row + 1] = (from[row + 1] as number) + 1
    }
  for (let row = 0; row < rows.length; row++) from[row + 1] = (from[row + 1] as number) + (from[row] as number)
  const at = new Int32Array(from[rows.length] as number)
  const fill = from.slice()
  for (let link = 0; link < count; link++) {
    if (topRow[link] === -1) continue
    for (let row = topRow[link] as number; row <= (bottomRow[link] as number); row++) {
      at[fill[row] as number] = link
      fill[row] = (fill[row] as number) + 1
    }
  }
  const table = { prev, next, topRow, from, at, byRow: new Array(rows.length) }
  tables.set(rows, table)
  return table
}

function intervalsOf(table: LinkTable, model: Model, row: number): Intervals {
  const known = table.byRow[row]
  if (known) return known
  const links = [...table.at.subarray(table.from[row], table.from[row + 1])]
  const made = indexIntervals(
    links,
    (link) => leavesMs(model, table.prev[link] as number, table.next[link] as number),
    (link) => model.startMs[table.next[link] as number] as number,
  )
  table.byRow[row] = made
  return made
}

const brokenOf = new WeakMap<Model, readonly (readonly [prev: number, next: number])[]>()

export function brokenPairs(model: Model): readonly (readonly [number, number])[] {
  const known = brokenOf.get(model)
  if (known) return known
  const pairs: (readonly [number, number])[] = []
  for (const broken of model.plan.broken) {
    if (!broken.rule.startsWith('link') || broken.taskKeys.length < 2) continue
    const [a, b] = broken.taskKeys.map((k) => model.ixOf.get(k))
    if (a !== undefined && b !== undefined) pairs.push([a, b])
  }
  brokenOf.set(model, pairs)
  return pairs
}

const placesOf = new WeakMap<readonly Row[], Int32Array>()

/** The first row each task stands in; -1 for none. Kept per list of rows. */
export function rowOfTasks(rows: readonly Row[], count: number): Int32Array {
  const known = placesOf.get(rows)
  if (known) return known
  const at = new Int32Array(count).fill(-1)
  rows.forEach((row, i) => {
    for (const ix of row.tasks.ix) if (at[ix] === -1) at[ix] = i
  })
  placesOf.set(rows, at)
  return at
}
