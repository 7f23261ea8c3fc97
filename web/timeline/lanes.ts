/** Lanes from time alone, computed once for the vintage: what overlaps stands one under the other, at every zoom. */

export const MOST_LANES = 4
/** A label needs room beside a short task: at day zoom half an hour of work takes about this much. */
const ROOM_MS = 75 * 60_000

export function assignLanes(
  sorted: Int32Array,
  startMs: Float64Array,
  endMs: Float64Array,
): { readonly lanes: Uint8Array; readonly laneCount: number } {
  const lanes = new Uint8Array(sorted.length)
  const freeMs: number[] = []
  for (let i = 0; i < sorted.length; i++) {
    const ix = sorted[i] as number
    const from = startMs[ix] as number
    const to = Math.max(endMs[ix] as number, from + ROOM_MS)
    let lane = freeMs.findIndex((free) => free <= from)
    if (lane < 0) lane = freeMs.length < MOST_LANES ? freeMs.length : soonest(freeMs)
    freeMs[lane] = Math.max(freeMs[lane] ?? to, to)
    lanes[i] = lane
  }
  return { lanes, laneCount: Math.max(1, freeMs.length) }
}

const soonest = (freeMs: readonly number[]): number =>
  freeMs.reduce((best, free, lane) => (free < (freeMs[best] as number) ? lane : best), 0)
