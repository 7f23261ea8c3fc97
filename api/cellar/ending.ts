import { no, ok, type Result } from '../result.ts'
import { within } from './guard.ts'

export interface Timed {
  readonly hour: number
  readonly value: number
}

/** Dry as measured: below 4 g/L glucose + fructose (winemakermag S48); the forecast aims at 2. */
export const DRY_LIMIT_G_PER_L = 4
export const MALIC_GONE_G_PER_L = 0.1

/**
 * Dry: two readings under the limit at least 24 h apart and none above between or after. Answers the hour of the second.
 */
export function dryAt(
  sugarReadings: readonly Timed[],
  limitGPerL = DRY_LIMIT_G_PER_L,
  apartH = 24,
): Result<number, 'no-reading' | 'above' | 'one-only' | 'too-close'> {
  within('limitGPerL', limitGPerL, 0.1, 20, 'g/L')
  const ordered = sugarReadings.toSorted((a, b) => a.hour - b.hour)
  const last = ordered.at(-1)
  if (!last) return no('no-reading')
  if (last.value > limitGPerL) return no('above')
  const lastAbove = ordered.findLastIndex((r) => r.value > limitGPerL)
  const under = ordered.slice(lastAbove + 1)
  if (under.length < 2) return no('one-only')
  const first = under[0] as Timed
  const second = under.find((r) => r.hour - first.hour >= apartH)
  return second ? ok(second.hour) : no('too-close')
}

/** Malolactic is over when malic is under 0.1 g/L (S48). */
export function malicGoneAt(malicReadings: readonly Timed[]): Result<number, 'no-reading' | 'above'> {
  const ordered = malicReadings.toSorted((a, b) => a.hour - b.hour)
  const last = ordered.at(-1)
  if (!last) return no('no-reading')
  if (last.value >= MALIC_GONE_G_PER_L) return no('above')
  const lastAbove = ordered.findLastIndex((r) => r.value >= MALIC_GONE_G_PER_L)
  return ok((ordered[lastAbove + 1] as Timed).hour)
}
