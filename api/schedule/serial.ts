import type { Levels } from './levels.ts'
import { profileOf } from './profile.ts'

/** Starts of all tasks, or undefined when this order leads to none. Smaller key, earlier turn. */
export type Decoder = (keys: Float64Array) => Float64Array | undefined

/** A decoder that also counts how often it had to take tasks out again, over all its runs. */
export interface CappedDecoder {
  readonly decode: Decoder
  readonly stepsBack: () => number
}

/** The longest way between any two tasks; undefined when a circle of lags has a length above zero. */
export function longestWays(levels: Levels): Float64Array | undefined {
  const { size: n } = levels
  const far = new Float64Array(n * n).fill(-Infinity)
  for (let i = 0; i < n; i++) far[i * n + i] = 0
  for (const { from, to, lagMin } of levels.arcs) far[from * n + to] = Math.max(far[from * n + to]!, lagMin)
  for (let k = 0; k < n; k++)
    for (let i = 0; i < n; i++) {
      const ik = far[i * n + k]!
      if (ik === -Infinity) continue
      for (let j = 0; j < n; j++) {
        const way = ik + far[k * n + j]!
        if (way > far[i * n + j]!) far[i * n + j] = way
      }
    }
  for (let i = 0; i < n; i++) if (far[i * n + i]! > 0) return undefined
  return far
}

/** Serial scheme for lags without upper bounds: each task in its turn at the first start that fits (Kolisch 1996). */
export function serialDecoder(levels: Levels): Decoder {
  const { size: n } = levels
  const profile = profileOf(levels)
  const after = listsOf(levels, (a) => a.from)
  const waits = new Int32Array(n)
  for (const a of levels.arcs) waits[a.to]!++
  const open = new Int32Array(n)
  return (keys) => {
    const start = levels.release.slice()
    const wait = waits.slice()
    let count = 0
    for (let i = 0; i < n; i++) if (wait[i] === 0) open[count++] = i
    profile.clear()
    for (let placed = 0; placed < n; placed++) {
      let best = 0
      for (let k = 1; k < count; k++) {
        const a = open[k]!
        const b = open[best]!
        if (keys[a]! < keys[b]! || (keys[a] === keys[b] && a < b)) best = k
      }
      const i = open[best]!
      open[best] = open[--count]!
      const at = profile.fit(i, start[i]!)
      start[i] = at
      profile.take(i, at)
      for (const { to, lagMin } of after[i]!) {
        if (at + lagMin > start[to]!) start[to] = at + lagMin
        if (--wait[to]! === 0) open[count++] = to
      }
    }
    return start
  }
}

/**
 * Serial scheme with upper bounds: a task that misses its latest start takes out the tasks whose lag caps it, moves
 * them right by the gap, and all that was placed behind them starts anew (Franck, Neumann, Schwindt 2001, from memory).
 */
export function cappedDecoder(levels: Levels, far: Float64Array): CappedDecoder {
  const { size: n } = levels
  const profile = profileOf(levels)
  const before: number[][] = Array.from({ length: n }, () => [])
  const after: number[][] = Array.from({ length: n }, () => [])
  const first = new Float64Array(n)
  for (let j = 0; j < n; j++) {
    let at = levels.release[j]!
    for (let i = 0; i < n; i++) {
      at = Math.max(at, levels.release[i]! + far[i * n + j]!)
      const way = far[i * n + j]!
      if (i !== j && (way > 0 || (way === 0 && far[j * n + i]! < 0))) {
        before[j]!.push(i)
        after[i]!.push(j)
      }
    }
    first[j] = at
  }
  const lo = new Float64Array(n)
  const hi = new Float64Array(n)
  const floor = new Float64Array(n)
  const start = new Float64Array(n)
  const done = new Uint8Array(n)
  const wait = new Int32Array(n)
  let steps = 0
  const decode: Decoder = (keys) => {
    lo.set(first)
    floor.set(first)
    hi.fill(Infinity)
    done.fill(0)
    for (let i = 0; i < n; i++) wait[i] = before[i]!.length
    profile.clear()
    let left = 3 * n
    for (let placed = 0; placed < n; ) {
      let i = -1
      for (let k = 0; k < n; k++) if (!done[k] && wait[k] === 0 && (i < 0 || keys[k]! < keys[i]!)) i = k
      const at = profile.fit(i, lo[i]!)
      if (at <= hi[i]!) {
        placed += place(i, at)
        continue
      }
      if (left-- <= 0) return undefined
      steps++
      const gap = at - hi[i]!
      let from = Infinity
      for (let j = 0; j < n; j++)
        if (done[j] && start[j]! - far[i * n + j]! === hi[i]!) {
          from = Math.min(from, start[j]!)
          floor[j] = start[j]! + gap
        }
      for (let j = 0; j < n; j++) if (done[j] && start[j]! >= from) placed -= takeOut(j)
      relabel()
    }
    return start.slice()
  }
  return { decode, stepsBack: () => steps }

  function place(i: number, at: number): 1 {
    start[i] = at
    lo[i] = at
    done[i] = 1
    profile.take(i, at)
    for (const j of after[i]!) wait[j]!--
    spread(i)
    return 1
  }

  function spread(i: number) {
    const at = start[i]!
    for (let j = 0; j < n; j++) {
      if (done[j]) continue
      const low = at + far[i * n + j]!
      if (low > lo[j]!) lo[j] = low
      const high = at - far[j * n + i]!
      if (high < hi[j]!) hi[j] = high
    }
  }

  function takeOut(j: number): 1 {
    done[j] = 0
    for (const k of after[j]!) wait[k]!++
    return 1
  }

  /** What was taken out leaves no trace: bounds and profile are laid out again from what still stands. */
  function relabel() {
    profile.clear()
    for (let j = 0; j < n; j++) {
      if (done[j]) continue
      let at = floor[j]!
      for (let i = 0; i < n; i++) if (!done[i] && floor[i]! > first[i]!) at = Math.max(at, floor[i]! + far[i * n + j]!)
      lo[j] = at
      hi[j] = Infinity
    }
    for (let i = 0; i < n; i++) {
      if (!done[i]) continue
      spread(i)
      profile.take(i, start[i]!)
    }
  }
}

function listsOf<T extends { readonly from: number }>(
  levels: { arcs: readonly T[]; size: number },
  of: (a: T) => number,
): T[][] {
  const lists: T[][] = Array.from({ length: levels.size }, () => [])
  for (const a of levels.arcs) lists[of(a)]!.push(a)
  return lists
}
