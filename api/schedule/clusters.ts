import type { Model } from './model.ts'

/** Work tied closer than this is placed together: a lot's fruit, press, settling and yeast hang on each other by hours. */
const TIGHT_MIN = 36 * 60
/** Turns are compared before minutes; more than any horizon has. */
export const A_TURN = 1e8

export interface Clusters {
  readonly clusterOf: Int32Array
  /** Place in the order of placing, by cluster. */
  readonly turnOf: readonly number[]
}

/**
 * Groups of tasks that hard maximum lags tie to each other, in the order in which they would like to begin.
 *
 * Task by task in order of time, two lots that want one press on one morning take turns at it and both run past their
 * limits; group by group the second lot finds the day as the first has left it.
 */
export function clustersOf(model: Model, want: Float64Array, turns?: Float64Array): Clusters {
  const size = model.tasks.length
  const root = Int32Array.from({ length: size }, (_, i) => i)
  const find = (i: number): number => {
    let at = i
    while (root[at] !== at) {
      root[at] = root[root[at]!]!
      at = root[at]!
    }
    return at
  }
  for (const l of model.links) if (l.hard && l.maxLagMin <= TIGHT_MIN) root[find(l.prev)] = find(l.next)
  const number = new Map<number, number>()
  const begins: number[] = []
  const clusterOf = Int32Array.from({ length: size }, (_, i) => {
    const r = find(i)
    let c = number.get(r)
    if (c === undefined) {
      c = begins.length
      number.set(r, c)
      begins.push(Infinity)
    }
    begins[c] = Math.min(begins[c]!, want[i]! + (turns?.[i] ?? 0))
    return c
  })
  const order = [...begins.keys()].sort((a, b) => begins[a]! - begins[b]! || a - b)
  const turnOf: number[] = []
  order.forEach((c, turn) => {
    turnOf[c] = turn
  })
  return { clusterOf, turnOf }
}
