import type { Levels } from './levels.ts'
import { AMOUNT_SLOP } from './unitroom.ts'

/** What is taken of every unit over time, as sorted breakpoints: row k holds from time[k] up to time[k + 1]. */
export interface Profile {
  readonly clear: () => void
  /** First start >= from at which the task fits for its whole length. */
  readonly fit: (i: number, fromMin: number) => number
  readonly take: (i: number, startMin: number) => void
}

export function profileOf(levels: Levels): Profile {
  const { units, need, length } = levels
  const room = 2 * levels.size + 2
  const time = new Float64Array(room)
  const used = new Float64Array(room * units)
  const limit = levels.capacity.map((c) => c + AMOUNT_SLOP)
  let count = 1

  const rowAt = (t: number): number => {
    let low = 0
    let high = count
    while (low < high) {
      const mid = (low + high) >> 1
      if (time[mid]! <= t) low = mid + 1
      else high = mid
    }
    return low - 1
  }

  /** Makes t a breakpoint; its row. */
  const cut = (t: number): number => {
    const k = rowAt(t)
    if (time[k] === t) return k
    time.copyWithin(k + 2, k + 1, count)
    used.copyWithin((k + 2) * units, (k + 1) * units, count * units)
    time[k + 1] = t
    for (let r = 0; r < units; r++) used[(k + 1) * units + r] = used[k * units + r]!
    count++
    return k + 1
  }

  const take = (i: number, startMin: number) => {
    if (length[i] === 0) return
    const first = cut(startMin)
    const last = cut(startMin + length[i]!)
    for (let k = first; k < last; k++) for (let r = 0; r < units; r++) used[k * units + r]! += need[i * units + r]!
  }

  return {
    clear: () => {
      count = 1
      time[0] = -Infinity
      used.fill(0, 0, units)
    },
    fit: (i, fromMin) => {
      const spanMin = length[i]!
      if (spanMin === 0) return fromMin
      let start = fromMin
      const base = i * units
      for (let k = rowAt(start); k < count && time[k]! < start + spanMin; k++) {
        for (let r = 0; r < units; r++)
          if (used[k * units + r]! + need[base + r]! > limit[r]!) {
            start = time[k + 1]!
            break
          }
      }
      return start
    },
    take,
  }
}
