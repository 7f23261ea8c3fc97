import type { Kept } from './plan.ts'

/** Tasks of kept plans in all: some 10 kB each, so 600 MB at the most. */
const MOST_TASKS = 60_000

/**
 * What the last plans of some cellars left ready for the next, the longest unused forgotten first. It makes no
 * difference to any plan, so it may be lost at any time.
 */
export function keeperOf(): (cellarId: string) => Kept {
  const kept = new Map<string, Kept>()
  return (cellarId) => {
    const one = kept.get(cellarId) ?? {}
    kept.delete(cellarId)
    let left = MOST_TASKS - (one.tasks ?? 0)
    for (const [id, other] of [...kept].reverse()) {
      left -= other.tasks ?? 0
      if (left < 0) kept.delete(id)
    }
    kept.set(cellarId, one)
    return one
  }
}
