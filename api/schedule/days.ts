/** Local days by number: where each begins, and which one a minute lies in. Any minute lies in one. */
export interface Days {
  readonly of: (min: number) => number
  readonly from: (day: number) => number
}

const DAY_MIN = 1440

/** @param midnights where days begin, ascending; before the first and after the last a day has 1,440 minutes */
export function daysOf(midnights: readonly number[] = [0]): Days {
  const first = midnights[0] ?? 0
  const last = midnights.length - 1
  const end = midnights[last] ?? 0
  return {
    of: (min) => {
      if (min < first) return Math.floor((min - first) / DAY_MIN)
      if (min >= end) return Math.max(0, last) + Math.floor((min - end) / DAY_MIN)
      let low = 0
      let high = last
      while (low < high) {
        const mid = (low + high + 1) >> 1
        if (midnights[mid]! <= min) low = mid
        else high = mid - 1
      }
      return low
    },
    from: (day) => {
      if (day < 0) return first + day * DAY_MIN
      return midnights[day] ?? end + (day - Math.max(0, last)) * DAY_MIN
    },
  }
}

/** Cuts a span at midnight. Calls `visit` for each day it touches. */
export function eachDay(
  days: Days,
  fromMin: number,
  toMin: number,
  visit: (day: number, minutes: number) => void,
): void {
  for (let day = days.of(fromMin), at = fromMin; at < toMin; day++) {
    const until = Math.min(toMin, days.from(day + 1))
    visit(day, until - at)
    at = until
  }
}
