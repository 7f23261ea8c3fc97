/** A span in which somebody or something is not free. */
export interface Booking {
  readonly fromMin: number
  readonly toMin: number
  /** Index of the task or hold it is for; -1 for a fixed booking and for work that is not being placed now. */
  readonly owner: number
  readonly kind: 'task' | 'hold' | 'fixed'
  readonly group: string
  readonly amount: number
  /** Free time it needs just before it. */
  readonly cleanMin: number
  /** Key of the task or hold it is for; empty for a fixed booking. */
  readonly key: string
  /** Of a person: where they are then. */
  readonly site?: number
  /** Of a person: how weighty the work is, where it has not begun and nobody has fixed it. */
  readonly yields?: number
}

/** Bookings of one person or unit, in order of start. */
export interface Book {
  readonly list: readonly Booking[]
  readonly add: (booking: Booking) => void
  /** Takes out the owner's booking that begins at this minute, if there is one. */
  readonly remove: (kind: Booking['kind'], owner: number, fromMin: number) => void
  /** Takes out this very booking. */
  readonly drop: (booking: Booking) => void
  /** The most free time any booking here has asked for before itself. */
  readonly longestCleanMin: () => number
  /** No booking here has been longer. */
  readonly longestMin: () => number
  /** Calls `visit` for every booking that touches [from, to), in order of start; stops when it answers true. */
  readonly touching: (fromMin: number, toMin: number, visit: (b: Booking) => boolean) => void
}

/** First place in a list in order of start that begins at or after t. */
function firstFrom(list: readonly Booking[], t: number): number {
  let low = 0
  let high = list.length
  while (low < high) {
    const mid = (low + high) >> 1
    if (list[mid]!.fromMin < t) low = mid + 1
    else high = mid
  }
  return low
}

/** Of bookings that begin at once the order is fixed too, so that it does not tell in which order they came. */
const after = (a: Booking, b: Booking): boolean =>
  a.toMin > b.toMin || (a.toMin === b.toMin && (a.key > b.key || (a.key === b.key && a.kind > b.kind)))

export function bookOf(): Book {
  const list: Booking[] = []
  // Bounds how far back a booking that still touches t can begin.
  let longestMin = 0
  let longestCleanMin = 0
  return {
    list,
    add(booking) {
      if (booking.toMin <= booking.fromMin) return
      longestMin = Math.max(longestMin, booking.toMin - booking.fromMin)
      longestCleanMin = Math.max(longestCleanMin, booking.cleanMin)
      let k = firstFrom(list, booking.fromMin)
      while (k < list.length && list[k]!.fromMin === booking.fromMin && after(booking, list[k]!)) k++
      list.splice(k, 0, booking)
    },
    remove(kind, owner, fromMin) {
      for (let k = firstFrom(list, fromMin); k < list.length && list[k]!.fromMin === fromMin; k++)
        if (list[k]!.owner === owner && list[k]!.kind === kind) {
          list.splice(k, 1)
          return
        }
    },
    drop(booking) {
      const from = firstFrom(list, booking.fromMin)
      for (let k = from; k < list.length && list[k]!.fromMin === booking.fromMin; k++)
        if (list[k] === booking) {
          list.splice(k, 1)
          return
        }
    },
    longestCleanMin() {
      return longestCleanMin
    },
    longestMin() {
      return longestMin
    },
    touching(fromMin, toMin, visit) {
      for (let k = firstFrom(list, fromMin - longestMin); k < list.length; k++) {
        const b = list[k]!
        if (b.fromMin >= toMin) return
        if (b.toMin > fromMin && visit(b)) return
      }
    },
  }
}

/** A book laid over another, to be wiped and used again. */
export interface Overlay extends Book {
  readonly wipe: () => void
}

/**
 * A book laid over another: what is added stands in it alone, what stands below is seen through it and stays.
 *
 * @param written is called when something is added to a clean overlay
 */
export function bookOver(below: Book, written?: () => void): Overlay {
  let own = bookOf()
  return {
    wipe: () => {
      if (own.longestMin() > 0) own = bookOf()
    },
    get list() {
      return merged(below.list, own.list)
    },
    add: (booking) => {
      if (own.longestMin() === 0) written?.()
      own.add(booking)
    },
    remove: (kind, owner, fromMin) => own.remove(kind, owner, fromMin),
    drop: (booking) => own.drop(booking),
    longestCleanMin: () => Math.max(below.longestCleanMin(), own.longestCleanMin()),
    longestMin: () => Math.max(below.longestMin(), own.longestMin()),
    touching: (fromMin, toMin, visit) => {
      const lower = below.list
      const upper = own.list
      let k = firstFrom(lower, fromMin - below.longestMin())
      let j = upper.length === 0 ? 0 : firstFrom(upper, fromMin - own.longestMin())
      for (;;) {
        const a = lower[k]
        const b = upper[j]
        const next = a && (!b || a.fromMin <= b.fromMin) ? a : b
        if (!next || next.fromMin >= toMin) return
        if (next === a) k++
        else j++
        if (next.toMin > fromMin && visit(next)) return
      }
    },
  }
}

function merged(lower: readonly Booking[], upper: readonly Booking[]): readonly Booking[] {
  if (upper.length === 0) return lower
  const all: Booking[] = []
  let j = 0
  for (const a of lower) {
    while (j < upper.length && upper[j]!.fromMin < a.fromMin) all.push(upper[j++]!)
    all.push(a)
  }
  while (j < upper.length) all.push(upper[j++]!)
  return all
}
