/** Which node stands above which in its column, so that few ways cross. */

/** A way between neighbouring columns. */
export interface Step {
  readonly from: string
  readonly to: string
  readonly weight: number
}

const SWEEPS = 12

/**
 * Orders each column by the mean place of what it is tied to, to and fro, and keeps the best order seen (the
 * barycentre heuristic for layered graphs; Sugiyama, Tagawa and Toda 1981, from memory, verify).
 *
 * @param columns ids from top to bottom; their order breaks ties
 * @param steps   each from one column to the next
 */
export function ordered(
  columns: readonly (readonly string[])[],
  steps: readonly Step[],
): readonly (readonly string[])[] {
  const before = neighbours(steps, 'to', 'from')
  const after = neighbours(steps, 'from', 'to')
  let now = columns
  let best = { columns, crossings: crossingsOf(columns, steps) }
  for (let sweep = 0; sweep < SWEEPS && best.crossings > 0; sweep++) {
    now = sweep % 2 === 0 ? swept(now, before) : [...swept([...now].reverse(), after)].reverse()
    const crossings = crossingsOf(now, steps)
    if (crossings < best.crossings) best = { columns: now, crossings }
  }
  return best.columns
}

type Neighbours = ReadonlyMap<string, readonly { readonly id: string; readonly weight: number }[]>

function neighbours(steps: readonly Step[], at: 'from' | 'to', other: 'from' | 'to'): Neighbours {
  const out = new Map<string, { id: string; weight: number }[]>()
  for (const step of steps) {
    const list = out.get(step[at])
    const tie = { id: step[other], weight: step.weight }
    if (list) list.push(tie)
    else out.set(step[at], [tie])
  }
  return out
}

function swept(columns: readonly (readonly string[])[], tied: Neighbours): readonly (readonly string[])[] {
  const out: (readonly string[])[] = []
  columns.forEach((column, at) => {
    const place = new Map((out[at - 1] ?? []).map((id, i) => [id, i]))
    const mean = (id: string, own: number) => {
      const list = (tied.get(id) ?? []).filter((tie) => place.has(tie.id))
      if (list.length === 0) return own
      return list.reduce((sum, tie) => sum + (place.get(tie.id) as number), 0) / list.length
    }
    const keyed = column.map((id, i) => ({ id, i, mean: at === 0 ? i : mean(id, i) }))
    out.push(keyed.sort((a, b) => a.mean - b.mean || a.i - b.i).map((entry) => entry.id))
  })
  return out
}

/** How often two ways cross between neighbouring columns; counted by a tree of sums, not pair by pair. */
export function crossingsOf(columns: readonly (readonly string[])[], steps: readonly Step[]): number {
  const column = new Map<string, number>()
  const place = new Map<string, number>()
  columns.forEach((ids, c) => {
    ids.forEach((id, i) => {
      column.set(id, c)
      place.set(id, i)
    })
  })
  const byColumn = new Map<number, (readonly [number, number])[]>()
  for (const step of steps) {
    const at = column.get(step.from)
    if (at === undefined) continue
    const list = byColumn.get(at) ?? []
    list.push([place.get(step.from) ?? 0, place.get(step.to) ?? 0])
    byColumn.set(at, list)
  }
  let total = 0
  for (const [at, pairs] of byColumn) total += inversions(pairs, columns[at + 1]?.length ?? 0)
  return total
}

function inversions(pairs: readonly (readonly [number, number])[], size: number): number {
  const sums = new Array<number>(size + 1).fill(0)
  let seen = 0
  let total = 0
  for (const [, to] of [...pairs].sort((a, b) => a[0] - b[0] || a[1] - b[1])) {
    let notAbove = 0
    for (let i = to + 1; i > 0; i -= i & -i) notAbove += sums[i] as number
    total += seen - notAbove
    for (let i = to + 1; i <= size; i += i & -i) sums[i] = (sums[i] as number) + 1
    seen += 1
  }
  return total
}
