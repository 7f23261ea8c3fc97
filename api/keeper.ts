import type { Kept } from './plan.ts'

/** Tasks of kept plans in all: some 10 kB each, so 600 MB at the most. */
const MOST_TASKS = 60_000

/** Lends work what the plan of the cellar before left ready. */
export type Keeper = <T>(cellarId: string, work: (kept: Kept) => T) => T

/**
 * What the last plans of some cellars left ready for the next, the longest unused forgotten first; one that is too large
 * by itself is not kept at all. It makes no difference to any plan, so it may be lost at any time.
 */
export function keeperOf(most = MOST_TASKS): Keeper {
  const kept = new Map<string, Kept>()
  return (cellarId, work) => {
    const one = kept.get(cellarId) ?? {}
    kept.delete(cellarId)
    try {
      return work(one)
    } finally {
      kept.set(cellarId, one)
      let left = most
      for (const [id, { tasks = 0 }] of [...kept].reverse()) {
        if (tasks > left) kept.delete(id)
        else left -= tasks
      }
    }
  }
}
