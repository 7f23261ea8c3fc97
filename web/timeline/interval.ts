/** Which spans touch a window: sorted starts and the running maximum of ends, so one binary search finds the first. */

export interface Intervals {
  /** Numbers of the things, in order of start. */
  readonly ix: Int32Array
  readonly startMs: Float64Array
  /** Latest end among this and all before it. */
  readonly reachMs: Float64Array
}

export function indexIntervals(
  ix: readonly number[],
  startOf: (ix: number) => number,
  endOf: (ix: number) => number,
): Intervals {
  const sorted = inOrder(Int32Array.from(ix), startOf)
  const startMs = new Float64Array(sorted.length)
  const reachMs = new Float64Array(sorted.length)
  let reach = Number.NEGATIVE_INFINITY
  for (let i = 0; i < sorted.length; i++) {
    const at = sorted[i] as number
    startMs[i] = startOf(at)
    reach = Math.max(reach, endOf(at))
    reachMs[i] = reach
  }
  return { ix: sorted, startMs, reachMs }
}

/** A plan comes in order of time more often than not. */
function inOrder(ix: Int32Array, startOf: (ix: number) => number): Int32Array {
  for (let i = 1; i < ix.length; i++) {
    const a = ix[i - 1] as number
    const b = ix[i] as number
    const apart = startOf(a) - startOf(b)
    if (apart > 0 || (apart === 0 && a > b)) return ix.sort((p, q) => startOf(p) - startOf(q) || p - q)
  }
  return ix
}

/** First place whose reach comes to `fromMs`: nothing before it can touch the window. */
export function firstTouching(index: Intervals, fromMs: number): number {
  let low = 0
  let high = index.reachMs.length
  while (low < high) {
    const mid = (low + high) >> 1
    if ((index.reachMs[mid] as number) < fromMs) low = mid + 1
    else high = mid
  }
  return low
}

/** Calls back for each thing that may touch [fromMs, toMs), in order of start. Zero-length things count where they stand. */
export function eachTouching(
  index: Intervals,
  endOf: (ix: number) => number,
  fromMs: number,
  toMs: number,
  visit: (ix: number, place: number) => void,
): void {
  for (let i = firstTouching(index, fromMs); i < index.ix.length && (index.startMs[i] as number) < toMs; i++) {
    const ix = index.ix[i] as number
    if (endOf(ix) > fromMs || (index.startMs[i] as number) >= fromMs) visit(ix, i)
  }
}
