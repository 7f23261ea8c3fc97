import type { Calendar } from './types.ts'

/** A calendar made ready: touching spans joined, `sum[k]` = open minutes before span k. */
export interface Open {
  readonly from: readonly number[]
  readonly to: readonly number[]
  readonly sum: readonly number[]
  readonly totalMin: number
}

export function openOf(calendar: Calendar): Open {
  const from: number[] = []
  const to: number[] = []
  const sum: number[] = []
  let totalMin = 0
  for (const [a, b] of [...calendar].sort((x, y) => x[0] - y[0])) {
    const last = to.length - 1
    const start = last >= 0 ? Math.max(a, to[last]!) : a
    if (b <= start) continue
    if (last >= 0 && start === to[last]) to[last] = b
    else {
      from.push(start)
      to.push(b)
      sum.push(totalMin)
    }
    totalMin += b - start
  }
  return { from, to, sum, totalMin }
}

/** Time that is open in at least one calendar. */
export const unionOf = (calendars: readonly Calendar[]): Open => openOf(calendars.flat())

/** Time that is open in both. */
export function bothOpen(a: Open, b: Open): Open {
  const spans: [number, number][] = []
  for (let i = 0, j = 0; i < a.from.length && j < b.from.length; ) {
    const from = Math.max(a.from[i]!, b.from[j]!)
    const to = Math.min(a.to[i]!, b.to[j]!)
    if (from < to) spans.push([from, to])
    if (a.to[i]! < b.to[j]!) i++
    else j++
  }
  return openOf(spans)
}

/** Index of the last span that begins at or before t; -1 when none does. */
export function spanAt(open: Open, t: number): number {
  let low = 0
  let high = open.from.length
  while (low < high) {
    const mid = (low + high) >> 1
    if (open.from[mid]! <= t) low = mid + 1
    else high = mid
  }
  return low - 1
}

export function isOpen(open: Open, t: number): boolean {
  const k = spanAt(open, t)
  return k >= 0 && t < open.to[k]!
}

/** First minute >= t from which `durationMin` fits into one span; Infinity when none. A length of 0 still needs an open minute. */
export function nextFit(open: Open, t: number, durationMin: number): number {
  const need = Math.max(1, durationMin)
  for (let k = Math.max(0, spanAt(open, t)); k < open.from.length; k++) {
    const start = Math.max(t, open.from[k]!)
    if (start + need <= open.to[k]!) return start
  }
  return Infinity
}

/** Last minute <= t from which `durationMin` fits into one span; -Infinity when none. */
export function lastFit(open: Open, t: number, durationMin: number): number {
  const need = Math.max(1, durationMin)
  for (let k = spanAt(open, t); k >= 0; k--) {
    const start = Math.min(t, open.to[k]! - need)
    if (start >= open.from[k]!) return start
  }
  return -Infinity
}

/** Open minutes before t. Past the end of the calendar nothing is known, so all time counts as open. */
export function workedAt(open: Open, t: number): number {
  const k = spanAt(open, t)
  if (open.from.length === 0) return t
  if (k < 0) return 0
  const last = open.to.length - 1
  if (k === last && t > open.to[last]!) return open.totalMin + t - open.to[last]!
  return open.sum[k]! + Math.min(t, open.to[k]!) - open.from[k]!
}

/** First minute by which `worked` open minutes have passed. */
export function firstAtWork(open: Open, worked: number): number {
  const last = open.to.length - 1
  if (last < 0) return worked
  if (worked <= 0) return -Infinity
  if (worked > open.totalMin) return open.to[last]! + worked - open.totalMin
  const k = spanBySum(open, worked, false)
  return open.from[k]! + worked - open.sum[k]!
}

/** Last minute by which no more than `worked` open minutes have passed. */
export function lastAtWork(open: Open, worked: number): number {
  const last = open.to.length - 1
  if (last < 0) return worked
  if (worked < 0) return -Infinity
  if (worked >= open.totalMin) return open.to[last]! + worked - open.totalMin
  const k = spanBySum(open, worked, true)
  return open.from[k]! + worked - open.sum[k]!
}

/** Last span whose sum is below `worked`, or at it when `atToo`. */
function spanBySum(open: Open, worked: number, atToo: boolean): number {
  let low = 0
  let high = open.sum.length
  while (low < high) {
    const mid = (low + high) >> 1
    const sum = open.sum[mid]!
    if (sum < worked || (atToo && sum === worked)) low = mid + 1
    else high = mid
  }
  return Math.max(0, low - 1)
}

/** The open pieces that `workMin` takes from t on; undefined when the calendar ends first or t is closed. */
export function piecesFrom(open: Open, t: number, workMin: number): [number, number][] | undefined {
  const pieces: [number, number][] = []
  let left = workMin
  for (let k = spanAt(open, t); k >= 0 && k < open.from.length; k++) {
    const from = Math.max(t, open.from[k]!)
    if (from >= open.to[k]!) return undefined
    const to = Math.min(open.to[k]!, from + left)
    pieces.push([from, to])
    left -= to - from
    if (left <= 0) return pieces
  }
  return undefined
}
