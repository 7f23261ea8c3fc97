import type { Booking } from './bookings.ts'
import type { Draft } from './build.ts'
import { type Claim, claimsOf } from './claims.ts'
import type { Model } from './model.ts'
import { factOf } from './network.ts'
import { keptOf, sharesOf } from './shares.ts'

/** A booking and whose it is. */
export interface Booked {
  readonly of: 'person' | 'unit'
  readonly at: number
  readonly booking: Booking
}

const USUAL_WEIGHT = 5

export const weightOf = (model: Model, i: number): number => model.tasks[i]!.weight ?? USUAL_WEIGHT

/** How weighty work is that may still be moved. */
export const yieldsOf = (model: Model, i: number): number | undefined =>
  factOf(model, i) === undefined ? weightOf(model, i) : undefined

/** Everything a draft asks of days. */
export const claimedBy = (model: Model, draft: Draft): readonly Claim[] =>
  draft.slots.flatMap((slot, i) => claimsOf(model, i, slot))

/** Everything a draft books: people by the pieces they work, units by shares, holds by their edges. */
export function bookedBy(model: Model, draft: Draft): readonly Booked[] {
  const all: Booked[] = []
  draft.slots.forEach((slot, i) => {
    const task = model.tasks[i]!
    const own = { owner: -1, kind: 'task' as const, group: task.group, cleanMin: 0, key: task.key }
    // Of what has happened only when people began and were free again is known.
    const isFact = task.done !== undefined || task.started !== undefined
    const yields = yieldsOf(model, i)
    const pieces = isFact ? [[slot.startMin, slot.crewEndMin] as const] : slot.crew.pieces
    for (const at of slot.crew.people)
      for (const [fromMin, toMin] of pieces)
        all.push({ of: 'person', at, booking: { ...own, amount: 1, fromMin, toMin, site: task.site ?? 0, yields } })
    task.uses.forEach((use, k) => {
      for (const [at, amount] of sharesOf(model, slot.units[k] ?? [], use.amount))
        all.push({ of: 'unit', at, booking: { ...own, amount, fromMin: slot.startMin, toMin: slot.endMin } })
    })
  })
  model.holds.forEach(({ hold, ...h }, k) => {
    const from = draft.slots[h.from]!
    const to = draft.slots[h.to]!
    const fromMin = h.fromEnd ? from.endMin : from.startMin
    const toMin = h.toEnd ? to.endMin : to.startMin
    const own = { owner: -1, kind: 'hold' as const, group: hold.group, cleanMin: hold.cleanMin, key: hold.key }
    for (const [at, amount] of keptOf(model, k, draft.berths[k]?.units ?? []))
      all.push({ of: 'unit', at, booking: { ...own, amount, fromMin, toMin } })
  })
  return all.filter(({ booking }) => booking.toMin > booking.fromMin)
}
