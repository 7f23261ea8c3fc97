import type { Book, Booking } from './bookings.ts'
import { lastFit, nextFit } from './calendar.ts'
import type { ModelUnit } from './model.ts'

/** Numbers in kW and tonnes are sums of floats; this much over is not over. */
export const AMOUNT_SLOP = 1e-9

export interface Wish {
  readonly fromMin: number
  readonly toMin: number
  readonly group: string
  readonly amount: number
  readonly cleanMin: number
  readonly kind: 'task' | 'hold'
}

/** Free time that must lie between two bookings of one unit, `a` before `b`. */
export function gapMin(unit: ModelUnit, a: Booking | Wish, b: Booking | Wish): number {
  const washed = unit.single && a.kind !== 'fixed' && b.kind !== 'fixed' && a.group !== b.group
  return Math.max(b.cleanMin, washed ? unit.turnaroundMin : 0)
}

/** A lot's own work in the vessel that the lot itself holds is no clash. */
export const sameLotInside = (a: Booking | Wish, b: Booking | Wish): boolean =>
  a.group === b.group && a.kind !== b.kind && a.kind !== 'fixed' && b.kind !== 'fixed'

export function clashes(unit: ModelUnit, b: Booking, wish: Wish): boolean {
  if (sameLotInside(b, wish)) return false
  const gap = b.fromMin < wish.fromMin ? gapMin(unit, b, wish) : gapMin(unit, wish, b)
  return b.fromMin < wish.fromMin ? b.toMin + gap > wish.fromMin : wish.toMin + gap > b.fromMin
}

/**
 * Whether the unit is free for the wish. When it is not: the next (or, going back, the last) start worth trying,
 * infinite when there is none.
 */
export function roomFor(
  unit: ModelUnit,
  book: Book,
  wish: Wish,
  back: boolean,
): { readonly retryMin: number; readonly by?: Booking } | undefined {
  const never = back ? -Infinity : Infinity
  if (wish.amount > unit.unit.capacity + AMOUNT_SLOP) return { retryMin: never }
  if (wish.toMin <= wish.fromMin) return undefined
  const lengthMin = wish.toMin - wish.fromMin
  if (unit.open) {
    const fit = back ? lastFit(unit.open, wish.fromMin, lengthMin) : nextFit(unit.open, wish.fromMin, lengthMin)
    if (fit !== wish.fromMin) return { retryMin: fit }
  }
  const reach = Math.max(unit.turnaroundMin, wish.cleanMin)
  let by: Booking | undefined
  let retryMin = wish.fromMin
  if (unit.single) {
    book.touching(wish.fromMin - reach, wish.toMin + Math.max(unit.turnaroundMin, book.longestCleanMin()), (b) => {
      if (!clashes(unit, b, wish)) return false
      by = b
      retryMin = back
        ? b.fromMin - gapMin(unit, wish, b) - lengthMin
        : Math.max(wish.fromMin + 1, b.toMin + gapMin(unit, b, wish))
      return true
    })
    if (by) return { retryMin: back ? Math.min(retryMin, wish.fromMin - 1) : retryMin, by }
    return undefined
  }
  const from = wish.fromMin - wish.cleanMin
  if (peakOf(book, from, wish.toMin, wish) + wish.amount <= unit.unit.capacity + AMOUNT_SLOP) return undefined
  let next = never
  book.touching(from, wish.toMin, (b) => {
    if (sameLotInside(b, wish)) return false
    by ??= b
    if (back) next = Math.max(next, Math.min(wish.fromMin - 1, b.fromMin - lengthMin))
    else next = Math.min(next, Math.max(wish.fromMin + 1, b.toMin + wish.cleanMin))
    return false
  })
  return { retryMin: next, by }
}

/** Most that others take at once within [from, to). */
function peakOf(book: Book, fromMin: number, toMin: number, wish: Wish): number {
  const there: Booking[] = []
  let sum = 0
  book.touching(fromMin, toMin, (b) => {
    if (!sameLotInside(b, wish)) {
      there.push(b)
      sum += b.amount
    }
    return false
  })
  if (there.length < 2) return sum
  const ends = [...there].sort((a, b) => a.toMin - b.toMin)
  let level = 0
  let peak = 0
  let over = 0
  for (const b of there) {
    while (ends[over]!.toMin <= b.fromMin) level -= ends[over++]!.amount
    level += b.amount
    peak = Math.max(peak, level)
  }
  return peak
}

/**
 * The next (or, going back, the last) start at which a unit that is not to be had at all for some of a span may be in
 * service for as long; undefined where it is in service for the whole span.
 */
export function serviceFrom(
  { unit }: Pick<ModelUnit, 'unit'>,
  fromMin: number,
  toMin: number,
  back: boolean,
): number | undefined {
  const away = unit.booked?.find(
    (b) => (b.amount ?? unit.capacity) >= unit.capacity && b.fromMin < toMin && fromMin < b.toMin,
  )
  return away && (back ? away.fromMin - (toMin - fromMin) : away.toMin)
}

/** Whether a unit is out of service, or promised away, for some of a span. */
export const isDown = (unit: Pick<ModelUnit, 'unit'>, fromMin: number, toMin: number): boolean =>
  serviceFrom(unit, fromMin, toMin, false) !== undefined
