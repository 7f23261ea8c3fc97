/** Counts requests in a sliding window; says how long to wait when there were too many. */
export interface Tempo {
  /** Seconds to wait, or 0 where the request may pass; a request that may pass is counted. */
  readonly take: (key: string, nowMs: number) => number
}

/** Keys remembered at once; the least recent leave. */
const KEPT = 10_000

export function createTempo(most: number, windowMs: number): Tempo {
  const windows = new Map<string, { fromMs: number; now: number; before: number }>()
  return {
    take: (key, nowMs) => {
      const fromMs = Math.floor(nowMs / windowMs) * windowMs
      const old = windows.get(key)
      const before = old?.fromMs === fromMs ? old.before : old?.fromMs === fromMs - windowMs ? old.now : 0
      const now = old?.fromMs === fromMs ? old.now : 0
      // The window before counts by the part of it that still lies inside the sliding one.
      const counted = now + before * (1 - (nowMs - fromMs) / windowMs)
      if (counted >= most) return Math.max(1, Math.ceil((fromMs + windowMs - nowMs) / 1000))
      windows.delete(key)
      windows.set(key, { fromMs, now: now + 1, before })
      const oldest = windows.keys().next().value
      if (windows.size > KEPT && oldest !== undefined) windows.delete(oldest)
      return 0
    },
  }
}
