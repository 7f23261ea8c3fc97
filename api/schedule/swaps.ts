import type { Berth } from './berths.ts'
import { nextFit } from './calendar.ts'
import type { Desk } from './desk.ts'
import type { Model } from './model.ts'
import { clashes, roomFor, type Wish } from './unitroom.ts'

export interface Swaps {
  /** Moves other holds to other vessels so that one vessel is free for this span; that vessel, or undefined. */
  readonly makeRoom: (
    h: number,
    fromMin: number,
    toMin: number,
    options: readonly number[],
    taken: readonly number[],
  ) => number | undefined
  /** Undoes what was moved since the last `keep`: a start was only tried. */
  readonly takeBack: () => void
  readonly keep: () => void
}

interface Board {
  readonly model: Model
  readonly desk: () => Desk
  readonly berths: (Berth | undefined)[]
  readonly wishOf: (h: number, fromMin: number, toMin: number, u: number) => Wish
  /** Whether the wine is in the vessel already, or a person has put the hold's start where it is. */
  readonly begun: (h: number) => boolean
}

/** A hold that is moved may move one other in turn. */
const DEEPEST = 1
const WEEK_MIN = 7 * 1440

/** Vessels are liked in order, so the first lots take the most wanted ones; these swaps give them back when they are needed. */
export function swapsOf(board: Board): Swaps {
  const { model, desk, berths, wishOf, begun } = board
  const log: { readonly h: number; readonly berth: Berth }[] = []

  const put = (h: number, berth: Berth) => {
    for (const u of berths[h]!.units) desk().units[u]!.remove('hold', h, berths[h]!.fromMin)
    berths[h] = berth
    for (const u of berth.units)
      desk().units[u]!.add({ ...wishOf(h, berth.fromMin, berth.toMin, u), owner: h, key: model.holds[h]!.hold.key })
  }

  const undoTo = (length: number) => {
    while (log.length > length) {
      const { h, berth } = log.pop()!
      put(h, berth)
    }
  }

  /** Holds in the way on a unit; undefined when something stands there that no swap moves. */
  const inTheWay = (u: number, wish: Wish, locked: ReadonlySet<number>): readonly number[] | undefined => {
    const found: number[] = []
    let firm = false
    desk().units[u]!.touching(wish.fromMin - WEEK_MIN, wish.toMin + WEEK_MIN, (b) => {
      if (!clashes(model.units[u]!, b, wish)) return false
      firm =
        b.kind !== 'hold' ||
        b.owner < 0 ||
        locked.has(b.owner) ||
        model.holds[b.owner]!.fixed !== undefined ||
        begun(b.owner)
      found.push(b.owner)
      return firm || found.length > 2
    })
    return firm || found.length > 2 ? undefined : found
  }

  const free = (
    h: number,
    span: readonly [number, number],
    options: readonly number[],
    locked: ReadonlySet<number>,
    depth: number,
  ): number | undefined => {
    for (const u of options) {
      const unit = model.units[u]!
      if (!unit.single || (unit.open && nextFit(unit.open, span[0], span[1] - span[0]) !== span[0])) continue
      const others = inTheWay(u, wishOf(h, span[0], span[1], u), locked)
      if (!others) continue
      const mark = log.length
      const now = new Set([...locked, h])
      if (others.every((other) => leave(other, u, now, depth))) return u
      undoTo(mark)
    }
    return undefined
  }

  /** Moves a hold off one unit, to a free one or to one that can be made free. */
  const leave = (h: number, from: number, locked: ReadonlySet<number>, depth: number): boolean => {
    const berth = berths[h]
    if (!berth) return false
    const options = model.holds[h]!.candidates.filter((u) => !berth.units.includes(u))
    const open = options.find(
      (u) => !roomFor(model.units[u]!, desk().units[u]!, wishOf(h, berth.fromMin, berth.toMin, u), false),
    )
    const to = open ?? (depth > 0 ? free(h, [berth.fromMin, berth.toMin], options, locked, depth - 1) : undefined)
    if (to === undefined) return false
    log.push({ h, berth })
    put(h, { ...berth, units: berth.units.map((u) => (u === from ? to : u)) })
    return true
  }

  return {
    makeRoom: (h, fromMin, toMin, options, taken) =>
      model.holds[h]!.fixed
        ? undefined
        : free(
            h,
            [fromMin, toMin],
            options.filter((u) => !taken.includes(u)),
            new Set(),
            DEEPEST,
          ),
    takeBack: () => undoTo(0),
    keep: () => {
      log.length = 0
    },
  }
}
