/** Pegs too close to tell apart become one with a count. A late one or one in conflict never hides in a count. */

export interface Spot {
  readonly ix: number
  readonly x: number
  /** Must stand by itself. */
  readonly alone: boolean
}

export interface Cluster {
  readonly x: number
  readonly members: readonly number[]
}

/** Room a peg takes, and room more for a number beside it. */
export const APART_PX = 8
const COUNT_PX = 12

/** Spots come in order of x. Each cluster reaches as far as its peg and number do. */
export function mergeSpots(spots: readonly Spot[], apartPx = APART_PX, countPx = COUNT_PX): readonly Cluster[] {
  const clusters: { x: number; members: number[] }[] = []
  const alone: Cluster[] = []
  let open: { x: number; members: number[] } | undefined
  for (const spot of spots) {
    if (spot.alone) {
      alone.push({ x: spot.x, members: [spot.ix] })
      continue
    }
    const reach = open ? apartPx + (open.members.length > 1 ? countPx : 0) : 0
    if (open && spot.x - open.x < reach) open.members.push(spot.ix)
    else {
      open = { x: spot.x, members: [spot.ix] }
      clusters.push(open)
    }
  }
  return [...clusters, ...alone]
}
