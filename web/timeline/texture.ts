/** The grain of a band, computed from what the wine does. */

/** Moments at which each further `unit` has been turned over, for a rate that is even within each day. */
export function turnsAt(startMs: number, endMs: number, ratePerDay: readonly number[], unit: number): Float64Array {
  const dayMs = 86_400_000
  const moments: number[] = []
  let turned = 0
  let nextTurn = unit / 2
  for (let day = 0; day < ratePerDay.length; day++) {
    const fromMs = startMs + day * dayMs
    if (fromMs >= endMs) break
    const shareOfDay = Math.min(1, (endMs - fromMs) / dayMs)
    const rate = Math.max(0, ratePerDay[day] ?? 0)
    const upTo = turned + rate * shareOfDay
    while (rate > 0 && nextTurn <= upTo) {
      moments.push(fromMs + ((nextTurn - turned) / rate) * dayMs)
      nextTurn += unit
    }
    turned = upTo
  }
  return Float64Array.from(moments)
}

/** Heights in (0, 1) that fill evenly whatever subset is shown in order. Source: golden-ratio additive sequence (Weyl 1916). */
export const heightOf = (count: number): number => (0.5 + count * 0.618_033_988_749_895) % 1

/** Show every 1st, 2nd, 5th, 10th ... turn, so that dots stay apart by about `wantedPx` squared. */
export function everyNth(turns: number, areaPx: number, wantedPx = 14): number {
  const room = Math.max(1, areaPx / wantedPx)
  for (const step of [1, 2, 5, 10, 20, 50]) if (turns / step <= room) return step
  return 100
}
