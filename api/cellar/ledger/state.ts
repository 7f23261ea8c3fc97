/** The state of a vessel and the wines it has held: what somebody said of it, and wine and work since. */

export type Washed = 'clean' | 'sanitised' | 'sulphured'

/** Work that left a vessel clean, at the moment it was done. */
export interface Wash {
  readonly atMs: number
  readonly state: Washed
}

/** Wine in a vessel from when it was empty to when it was empty again; it may have changed its name meanwhile. */
export interface Filling {
  readonly firstLotId: string
  readonly lastLotId: string
  /** Absent: it is in it still. */
  readonly endedMs?: number
}

export interface Said<State extends string> {
  readonly state: State
  readonly fills?: number
  /** Negative infinity: before anything in the books. */
  readonly atMs: number
}

/** One line of a vessel's page; only those that begin or end a filling count. */
interface Turn {
  readonly atMs: number
  readonly beforeMl: number
  readonly afterMl: number
  readonly beforeLotId?: string
  readonly afterLotId?: string
}

/** @param turns levels of one vessel in order of time */
export function fillingsOf(turns: readonly Turn[]): Filling[] {
  const out: Filling[] = []
  let firstLotId: string | undefined
  for (const t of turns) {
    if (t.beforeMl === 0 && t.afterMl > 0) firstLotId = t.afterLotId
    if (t.afterMl === 0 && t.beforeMl > 0) {
      const lastLotId = t.beforeLotId ?? ''
      out.push({ firstLotId: firstLotId ?? lastLotId, lastLotId, endedMs: t.atMs })
      firstLotId = undefined
    }
  }
  if (firstLotId !== undefined) out.push({ firstLotId, lastLotId: firstLotId })
  return out
}

/**
 * Full while wine is in it, dirty once it ran empty, and what the last washing made of it. Out of service stays so
 * until somebody says otherwise.
 *
 * @param fillings all of the vessel, in order of time
 * @param washes   of this vessel, in any order
 */
export function stateOf<State extends string>(
  said: Said<State>,
  fillings: readonly Filling[],
  washes: readonly Wash[],
): State | Washed | 'full' | 'dirty' {
  const last = fillings.at(-1)
  if (last && last.endedMs === undefined) return 'full'
  if (said.state === 'out-of-service') return said.state
  const emptiedMs = last?.endedMs ?? Number.NEGATIVE_INFINITY
  const wash = washes.reduce<Wash | undefined>((a, b) => (a && a.atMs > b.atMs ? a : b), undefined)
  if (wash && wash.atMs >= emptiedMs && wash.atMs > said.atMs) return wash.state
  if (emptiedMs > said.atMs) return 'dirty'
  return said.state === 'full' ? 'dirty' : said.state
}

/**
 * Wines it has held: those said, and one more for each that left since. Wine drawn off and put back is the same wine.
 *
 * @returns undefined where nobody counts (a steel tank)
 */
export function fillsOf(said: Said<string>, fillings: readonly Filling[]): number | undefined {
  if (said.fills === undefined) return undefined
  const left = fillings.filter(
    (f, i) => f.endedMs !== undefined && f.endedMs > said.atMs && fillings[i + 1]?.firstLotId !== f.lastLotId,
  )
  return said.fills + left.length
}
