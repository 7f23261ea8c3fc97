import type { Book, Booking } from './bookings.ts'
import { nextFit } from './calendar.ts'
import type { Model, ModelUnit } from './model.ts'
import { type Travel, wayMin } from './travel.ts'
import type { BrokenRule } from './types.ts'
import { AMOUNT_SLOP, gapMin, sameLotInside } from './unitroom.ts'

/** Whom a booking is for: its task, or the tasks a hold runs between; whether all of them have happened or begun. */
export interface Side {
  readonly keys: readonly string[]
  readonly fact: boolean
}

export type SideOf = (b: Booking) => Side

/** Why a unit is not to be had, where no other work has it. */
const AWAY = 'cannot be used then'

const NOBODY: Side = { keys: [], fact: true }

/** Reads sides from one model. */
export function sidesOf(model: Model): SideOf {
  const holdOf = new Map(model.holds.map((h) => [h.hold.key, h]))
  const fact = (i: number) => model.tasks[i]!.done !== undefined || model.tasks[i]!.started !== undefined
  return (b) => {
    if (b.kind === 'fixed') return NOBODY
    if (b.kind === 'task') return { keys: [b.key], fact: fact(model.taskOf.get(b.key)!) }
    const { from, to } = holdOf.get(b.key)!
    return { keys: [model.tasks[from]!.key, model.tasks[to]!.key], fact: fact(from) && fact(to) }
  }
}

/**
 * What is wrong with the bookings of one unit: a unit of one has one booking at a time, washed between groups; a larger
 * one is never over its amount; none is used while its own calendar is closed.
 */
export function unitBroken(
  unit: ModelUnit,
  list: readonly Booking[],
  sideOf: SideOf,
  nowMin: number,
): readonly BrokenRule[] {
  const shared = unit.single ? takenTwice(unit, list, sideOf, nowMin) : overfull(unit, list, sideOf)
  return unit.open ? [...shared, ...outsideHours(unit, list, sideOf)] : shared
}

/** Two spans that were both facts before the plan began are history. */
function past(b: Booking, sideOf: SideOf, nowMin: number): boolean {
  return b.kind === 'fixed' || (b.kind === 'hold' ? b.toMin <= nowMin : sideOf(b).fact)
}

function takenTwice(unit: ModelUnit, list: readonly Booking[], sideOf: SideOf, nowMin: number): readonly BrokenRule[] {
  const reach = list.reduce((most, b) => Math.max(most, b.cleanMin), unit.turnaroundMin)
  const found: BrokenRule[] = []
  let open: Booking[] = []
  for (const b of list) {
    if (open.length > 0) open = open.filter((a) => a.toMin + reach > b.fromMin)
    for (const a of open) {
      const rule = unitTaken(unit, a, b, sideOf, nowMin)
      if (rule) found.push(rule)
    }
    open.push(b)
  }
  return found
}

/** Two bookings of a unit of one, `a` no later than `b`, that leave each other no room, or none to wash between. */
export function unitTaken(
  unit: ModelUnit,
  a: Booking,
  b: Booking,
  sideOf: SideOf,
  nowMin: number,
): BrokenRule | undefined {
  if (sameLotInside(a, b)) return undefined
  const by = a.toMin + gapMin(unit, a, b) - b.fromMin
  if (by <= 0 || (past(a, sideOf, nowMin) && past(b, sideOf, nowMin))) return undefined
  const tasks = [...new Set([...sideOf(a).keys, ...sideOf(b).keys])]
  const away = a.kind === 'fixed' || b.kind === 'fixed'
  return { rule: 'unit-taken', strength: 'hard', tasks, ref: unit.unit.id, by, ...(away ? { reason: AWAY } : {}) }
}

/** Two pieces of work that want one person at once, or leave no time for the way between them, `a` no later than `b`. */
export function personTaken(
  id: string,
  a: Booking,
  b: Booking,
  sideOf: SideOf,
  travel: Travel | undefined,
): BrokenRule | undefined {
  if (a.key === b.key || (sideOf(a).fact && sideOf(b).fact)) return undefined
  const both = { strength: 'hard', tasks: [a.key, b.key], ref: id } as const
  if (a.toMin > b.fromMin) return { rule: 'person-taken', ...both, by: Math.min(a.toMin, b.toMin) - b.fromMin }
  const by = a.toMin + wayMin(travel, a.site ?? 0, b.site ?? 0) - b.fromMin
  return by > 0 ? { rule: 'travel-short', ...both, by } : undefined
}

/** How far beside itself a booking may be in another's way. */
export const reachOf = (unit: ModelUnit, book: Book): number => Math.max(unit.turnaroundMin, book.longestCleanMin())

function overfull(unit: ModelUnit, list: readonly Booking[], sideOf: SideOf): readonly BrokenRule[] {
  const { capacity, id } = unit.unit
  const found: BrokenRule[] = []
  let open: Booking[] = []
  let level = 0
  for (let next = 0; next < list.length; ) {
    const at = list[next]!.fromMin
    if (open.some((b) => b.toMin <= at)) {
      open = open.filter((b) => b.toMin > at)
      level = open.reduce((sum, b) => sum + b.amount, 0)
    }
    for (; next < list.length && list[next]!.fromMin <= at; next++) {
      open.push(list[next]!)
      level += list[next]!.amount
    }
    // The plain sum is never less than the true level, and most often it settles the question.
    if (level - capacity <= AMOUNT_SLOP) continue
    const by = levelOf(open) - capacity
    if (by <= AMOUNT_SLOP || open.every((b) => sideOf(b).fact)) continue
    const tasks = [...new Set(open.flatMap((b) => sideOf(b).keys))]
    found.push({ rule: 'pool-short', strength: 'hard', tasks, ref: id, by })
  }
  return found
}

/** Amounts in use at once; a lot's tasks inside a unit that the lot itself holds take nothing more. */
function levelOf(open: readonly Booking[]): number {
  const held = new Set(open.filter((b) => b.kind === 'hold').map((b) => b.group))
  return open.reduce((sum, b) => sum + (b.kind === 'task' && held.has(b.group) ? 0 : b.amount), 0)
}

function outsideHours({ open, unit }: ModelUnit, list: readonly Booking[], sideOf: SideOf): readonly BrokenRule[] {
  if (!open) return []
  return list
    .filter((b) => nextFit(open, b.fromMin, b.toMin - b.fromMin) !== b.fromMin)
    .map((b) => sideOf(b))
    .filter((side) => !side.fact)
    .map(({ keys }): BrokenRule => ({ rule: 'outside-shift', strength: 'hard', tasks: keys, ref: unit.id }))
}

/** Nobody works on two tasks at once, nor at two sites without the time to get there. */
export function personBroken(
  id: string,
  list: readonly Booking[],
  sideOf: SideOf,
  travel: Travel | undefined,
): readonly BrokenRule[] {
  const reach = travel?.longestMin ?? 0
  const found: BrokenRule[] = []
  let open: Booking[] = []
  for (const b of list) {
    if (open.length > 0) open = open.filter((a) => a.toMin + reach > b.fromMin)
    for (const a of open) {
      const rule = personTaken(id, a, b, sideOf, travel)
      if (rule) found.push(rule)
    }
    open.push(b)
  }
  return found
}
