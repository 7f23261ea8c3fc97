/** Counts failed tries by account and address. The tries are locked, not the account: nobody can shut the owner out. */
export interface Attempts {
  /** Seconds to wait, or 0. */
  readonly waitS: (key: string, nowMs: number) => number
  readonly failed: (key: string, nowMs: number) => void
  readonly passed: (key: string) => void
}

/** Tries before waiting starts, within a window: common practice (OWASP ASVS 5.0 V6.3.1 asks for a limit, not a figure). */
const FREE_TRIES = 5
const WINDOW_MS = 15 * 60_000
const FIRST_WAIT_MS = 5_000
const LONGEST_WAIT_MS = 10 * 60_000
/** Older entries leave, so that made-up names cannot fill the memory. */
const KEPT = 10_000

export function createAttempts(freeTries = FREE_TRIES): Attempts {
  const seen = new Map<string, { count: number; lastMs: number }>()
  return {
    waitS: (key, nowMs) => {
      const entry = seen.get(key)
      if (!entry || entry.count < freeTries || nowMs - entry.lastMs > WINDOW_MS) return 0
      const waitMs = Math.min(FIRST_WAIT_MS * 2 ** (entry.count - freeTries), LONGEST_WAIT_MS)
      return Math.max(0, Math.ceil((entry.lastMs + waitMs - nowMs) / 1000))
    },
    failed: (key, nowMs) => {
      const entry = seen.get(key)
      const count = entry && nowMs - entry.lastMs <= WINDOW_MS ? entry.count + 1 : 1
      seen.delete(key)
      seen.set(key, { count, lastMs: nowMs })
      const oldest = seen.keys().next().value
      if (seen.size > KEPT && oldest !== undefined) seen.delete(oldest)
    },
    passed: (key) => void seen.delete(key),
  }
}
