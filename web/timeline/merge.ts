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

/** Room a peg takes, and room more for each digit beside it. */
export const APART_PX = 8
const DIGIT_PX = 8

/** Spots come in order of x, and so do the clusters. Each reaches as far as its peg and number do. */
export function mergeSpots(spots: readonly Spot[], apartPx = APART_PX, digitPx = DIGIT_PX): readonly Cluster[] {
  const clusters: { x: number; members: number[] }[] = []
  let open: { x: number; members: number[] } | undefined
  for (const spot of spots) {
    const reach = open ? apartPx + countRoom(open.members.length, digitPx) : 0
    if (!spot.alone && open && spot.x - open.x < reach) {
      open.members.push(spot.ix)
      continue
    }
    const made = { x: spot.x, members: [spot.ix] }
    clusters.push(made)
    if (!spot.alone) open = made
  }
  return clusters
}

const countRoom = (members: number, digitPx: number): number =>
  members < 2 ? 0 : digitPx * (members > 99 ? 4.2 : members > 9 ? 3.2 : 2.1)
