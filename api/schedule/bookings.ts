/** A span in which somebody or something is not free. */
export interface Booking {
  readonly fromMin: number
  readonly toMin: number
  /** Index of the task or hold it is for; -1 for a fixed booking. */
  readonly owner: number
  readonly kind: 'task' | 'hold' | 'fixed'
  readonly group: string
  readonly amount: number
  /** Free time it needs just before it. */
  readonly cleanMin: number
}

/** Bookings of one person or unit, in order of start. */
export interface Book {
  readonly list: readonly Booking[]
  readonly add: (booking: Booking) => void
  /** Takes out the owner's booking that begins at this minute, if there is one. */
  readonly remove: (kind: Booking['kind'], owner: number, fromMin: number) => void
  /** The most free time any booking here has asked for before itself. */
  readonly longestCleanMin: () => number
  /** Calls `visit` for every booking that touches [from, to), in order of start; stops when it answers true. */
  readonly touching: (fromMin: number, toMin: number, visit: (b: Booking) => boolean) => void
}

export function bookOf(): Book {
  const list: Booking[] = []
  // Bounds how far back a booking that still touches t can begin.
  let longestMin = 0
  let longestCleanMin = 0
  const firstFrom = (t: number): number => {
    let low = 0
    let high = list.length
    while (low < high) {
      const mid = (low + high) >> 1
      if (list[mid]!.fromMin < t) low = mid + 1
      else high = mid
    }
    return low
  }
  return {
    list,
    add: (booking) => {
      if (booking.toMin <= booking.fromMin) return
      longestMin = Math.max(longestMin, booking.toMin - booking.fromMin)
      longestCleanMin = Math.max(longestCleanMin, booking.cleanMin)
      list.splice(firstFrom(booking.fromMin), 0, booking)
    },
    remove: (kind, owner, fromMin) => {
      for (let k = firstFrom(fromMin); k < list.length && list[k]!.fromMin === fromMin; k++)
        if (list[k]!.owner === owner && list[k]!.kind === kind) {
          list.splice(k, 1)
          return
        }
    },
    longestCleanMin: () => longestCleanMin,
    touching: (fromMin, toMin, visit) => {
      for (let k = firstFrom(fromMin - longestMin); k < list.length; k++) {
        const b = list[k]!
        if (b.fromMin >= toMin) return
        if (b.toMin > fromMin && visit(b)) return
      }
    },
  }
}
