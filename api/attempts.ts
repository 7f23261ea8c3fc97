import { createTempo } from './feed/tempo.ts'

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

export interface SignInLimits {
  /** Seconds to wait, or 0 where a password may be tried; what may be tried is counted. */
  readonly waitS: (name: string, address: string, nowMs: number) => number
  readonly failed: (name: string, address: string, nowMs: number) => void
  readonly passed: (name: string, address: string) => void
}

/** Passwords of one name that are looked at within an hour, from addresses it never signed in from. Chosen by us. */
const BY_NAME = { most: 50, windowMs: 60 * 60_000 }
/** Passwords from one address within a quarter of an hour: a whole crew at the start of a shift fits. Chosen by us. */
const BY_ADDRESS = { most: 200, windowMs: 15 * 60_000 }

/**
 * Three limits: for a name from an address, with growing waits; for a name from anywhere, which does not bind an
 * address the name has signed in from, so that nobody can shut the owner out; and for an address, whatever the names.
 */
export function createSignInLimits(): SignInLimits {
  const pairs = createAttempts()
  const names = createTempo(BY_NAME.most, BY_NAME.windowMs)
  const addresses = createTempo(BY_ADDRESS.most, BY_ADDRESS.windowMs)
  const known = new Set<string>()
  const pair = (name: string, address: string) => `${name.toLowerCase()} ${address}`
  return {
    waitS: (name, address, nowMs) => {
      const key = pair(name, address)
      const waitS = pairs.waitS(key, nowMs)
      if (waitS > 0) return waitS
      if (known.has(key)) return 0
      return addresses.take(address, nowMs) || names.take(name.toLowerCase(), nowMs)
    },
    failed: (name, address, nowMs) => pairs.failed(pair(name, address), nowMs),
    passed: (name, address) => {
      const key = pair(name, address)
      pairs.passed(key)
      known.delete(key)
      known.add(key)
      const oldest = known.values().next().value
      if (known.size > KEPT && oldest !== undefined) known.delete(oldest)
    },
  }
}
