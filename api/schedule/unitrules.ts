import type { Booking } from './bookings.ts'
import { nextFit } from './calendar.ts'
import { type Finished, isFact, type Rule } from './finished.ts'
import { sharesOf } from './shares.ts'
import type { BrokenRule } from './types.ts'
import { AMOUNT_SLOP, gapMin, sameLotInside } from './unitroom.ts'

/** A unit of one has one booking at a time, washed between groups; a larger one is never over its amount. */
export const unitsShared: Rule = (plan) => {
  const books = bookingsOf(plan)
  return books.flatMap((list, u) => (plan.model.units[u]!.single ? takenTwice(plan, u, list) : overfull(plan, u, list)))
}

/** A unit is used only while its own calendar is open. */
export const unitsOpen: Rule = (plan) =>
  bookingsOf(plan).flatMap((list, u) => {
    const { open, unit } = plan.model.units[u]!
    if (!open) return []
    return list
      .filter((b) => b.kind !== 'fixed' && !ownersOf(plan, b).every((i) => isFact(plan, i)))
      .filter((b) => nextFit(open, b.fromMin, b.toMin - b.fromMin) !== b.fromMin)
      .map((b): BrokenRule => ({ rule: 'outside-shift', strength: 'hard', tasks: keysOf(plan, b), ref: unit.id }))
  })

function bookingsOf(plan: Finished): readonly Booking[][] {
  const { model } = plan
  const books: Booking[][] = model.units.map(({ unit }) =>
    (unit.booked ?? []).map((b) => ({
      fromMin: b.fromMin,
      toMin: b.toMin,
      owner: -1,
      kind: 'fixed',
      group: '',
      amount: b.amount ?? unit.capacity,
      cleanMin: 0,
    })),
  )
  model.tasks.forEach((task, i) => {
    const { startMin: fromMin, endMin: toMin } = plan.placed[i]!
    task.uses.forEach((use, k) => {
      for (const [u, amount] of sharesOf(model, plan.uses[i]![k] ?? [], use.amount))
        books[u]!.push({ fromMin, toMin, owner: i, kind: 'task', group: task.group, amount, cleanMin: 0 })
    })
  })
  model.holds.forEach(({ hold }, h) => {
    const { fromMin, toMin, units } = plan.holds[h]!
    for (const id of units) {
      const u = model.unitOf.get(id)
      if (u === undefined) continue
      const amount = model.units[u]!.unit.capacity
      books[u]!.push({ fromMin, toMin, owner: h, kind: 'hold', group: hold.group, amount, cleanMin: hold.cleanMin })
    }
  })
  return books.map((list) => list.filter((b) => b.fromMin < b.toMin).sort((a, b) => a.fromMin - b.fromMin))
}

function ownersOf(plan: Finished, b: Booking): readonly number[] {
  if (b.kind === 'fixed') return []
  return b.kind === 'task' ? [b.owner] : [plan.model.holds[b.owner]!.from, plan.model.holds[b.owner]!.to]
}

const keysOf = (plan: Finished, b: Booking) => ownersOf(plan, b).map((i) => plan.model.tasks[i]!.key)

/** Two spans that were both facts before the plan began are history. */
function bothPast(plan: Finished, a: Booking, b: Booking): boolean {
  const past = (x: Booking) =>
    x.kind === 'fixed' || (x.kind === 'hold' ? x.toMin <= plan.model.problem.nowMin : isFact(plan, x.owner))
  return past(a) && past(b)
}

function takenTwice(plan: Finished, u: number, list: readonly Booking[]): readonly BrokenRule[] {
  const unit = plan.model.units[u]!
  const reach = Math.max(unit.turnaroundMin, ...list.map((b) => b.cleanMin))
  const found: BrokenRule[] = []
  let open: Booking[] = []
  for (const b of list) {
    open = open.filter((a) => a.toMin + reach > b.fromMin)
    for (const a of open) {
      if (sameLotInside(a, b) || bothPast(plan, a, b)) continue
      const by = a.toMin + gapMin(unit, a, b) - b.fromMin
      if (by <= 0) continue
      found.push({
        rule: 'unit-taken',
        strength: 'hard',
        tasks: [...new Set([...keysOf(plan, a), ...keysOf(plan, b)])],
        ref: unit.unit.id,
        by,
      })
    }
    open.push(b)
  }
  return found
}

function overfull(plan: Finished, u: number, list: readonly Booking[]): readonly BrokenRule[] {
  const { unit } = plan.model.units[u]!
  const marks = [...new Set(list.map((b) => b.fromMin))].sort((a, b) => a - b)
  const found: BrokenRule[] = []
  let next = 0
  let open: Booking[] = []
  for (const at of marks) {
    open = open.filter((b) => b.toMin > at)
    const fresh: Booking[] = []
    for (; next < list.length && list[next]!.fromMin <= at; next++) fresh.push(list[next]!)
    open.push(...fresh)
    const by = levelOf(open) - unit.capacity
    if (by <= AMOUNT_SLOP || open.every((b) => b.kind === 'fixed' || ownersOf(plan, b).every((i) => isFact(plan, i))))
      continue
    found.push({
      rule: 'pool-short',
      strength: 'hard',
      tasks: [...new Set(open.flatMap((b) => keysOf(plan, b)))],
      ref: unit.id,
      by,
    })
  }
  return found
}

/** Amounts in use at once; a lot's tasks inside a unit that the lot itself holds take nothing more. */
function levelOf(open: readonly Booking[]): number {
  const held = new Set(open.filter((b) => b.kind === 'hold').map((b) => b.group))
  return open.reduce((sum, b) => sum + (b.kind === 'task' && held.has(b.group) ? 0 : b.amount), 0)
}
