import type { Problem } from './types.ts'

/** Minutes from each site to each other, by the shortest ways. */
export interface Travel {
  readonly minutes: readonly (readonly number[])[]
  /** No way takes longer: so far beside a span other work may be in its way. */
  readonly longestMin: number
}

/** Where somebody is to be. */
export interface Trip {
  readonly travel: Travel
  readonly site: number
}

/**
 * The ways closed by going over other sites, so that two pieces of work far apart need no look at what lies between.
 *
 * @returns undefined where nobody ever travels
 * @throws Error when the table is not square or has a way of less than no time: a bug in the caller
 */
export function travelOf({ travel }: Pick<Problem, 'travel'>): Travel | undefined {
  if (!travel) return undefined
  const n = travel.length
  if (travel.some((row) => row.length !== n || row.some((min) => !(min >= 0))))
    throw new Error('travel must be a square table of minutes >= 0')
  const minutes = travel.map((row, a) => row.map((min, b) => (a === b ? 0 : min)))
  for (let via = 0; via < n; via++)
    for (let a = 0; a < n; a++)
      for (let b = 0; b < n; b++) minutes[a]![b] = Math.min(minutes[a]![b]!, minutes[a]![via]! + minutes[via]![b]!)
  const longestMin = Math.max(0, ...minutes.flat())
  return longestMin > 0 ? { minutes, longestMin } : undefined
}

/** Minutes on the way between two pieces of work. */
export const wayMin = (travel: Travel | undefined, from: number, to: number): number =>
  travel ? travel.minutes[from]![to]! : 0
