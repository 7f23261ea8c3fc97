import { bookedBy, claimedBy } from './booked.ts'
import { type Book, type Booking, bookOf } from './bookings.ts'
import type { Draft } from './build.ts'
import { isOpen } from './calendar.ts'
import { claimBookOf, dayBroken, isByDay, isDrawn } from './claims.ts'
import { onShift, pickCrew, piecesOf } from './crew.ts'
import { bookFixed } from './desk.ts'
import { type Finished, isFact, type Rule } from './finished.ts'
import { edgeUntil, startFrom, startUntil } from './lag.ts'
import type { Model } from './model.ts'
import type { BrokenRule, Placed } from './types.ts'
import { AMOUNT_SLOP } from './unitroom.ts'
import { personBroken, sidesOf, unitBroken } from './unitrules.ts'

const edgeOf = (placed: Placed, end: boolean) => (end ? placed.endMin : placed.startMin)

/** A task starts no sooner after the one before it than the lag allows, and no later. */
export const lagsKept: Rule = (plan) =>
  plan.model.links.flatMap((l): BrokenRule[] => {
    if (isFact(plan, l.next)) return []
    const start = plan.placed[l.next]!.startMin
    const edge = edgeOf(plan.placed[l.prev]!, l.fromEnd)
    const open = plan.model.working
    const both = { tasks: [l.link.prev, l.link.next], strength: l.link.strength, reason: l.link.reason }
    const soonest = startFrom(l, edge, open)
    const latest = startUntil(l, edge, open)
    const tooShort = start < soonest || edge > edgeUntil(l, start, open)
    return [
      ...(tooShort ? [{ ...both, rule: 'link-too-short' as const, by: Math.max(1, soonest - start) }] : []),
      ...(start > latest ? [{ ...both, rule: 'link-too-long' as const, by: start - latest }] : []),
    ]
  })

/** A task starts in its window, not before its release or now, not after its due minute, and ends within the horizon. */
export const datesKept: Rule = (plan) =>
  plan.model.tasks.flatMap((task, i): BrokenRule[] => {
    if (isFact(plan, i)) return []
    const { startMin, endMin } = plan.placed[i]!
    const { nowMin, horizonMin } = plan.model.problem
    const one = { tasks: [task.key] }
    const found: BrokenRule[] = []
    const release = task.releaseMin ?? -Infinity
    const window = task.startCalendar === undefined ? undefined : plan.model.calendars.get(task.startCalendar)
    if (startMin < release) found.push({ ...one, rule: 'before-release', strength: 'hard', by: release - startMin })
    if (startMin < nowMin)
      found.push({ ...one, rule: 'before-release', strength: 'soft', ref: 'now', by: nowMin - startMin })
    if (task.dueMin !== undefined && startMin > task.dueMin)
      found.push({ ...one, rule: 'after-due', strength: task.dueStrength ?? 'hard', by: startMin - task.dueMin })
    if (task.startCalendar !== undefined && !(window && isOpen(window, startMin)))
      found.push({ ...one, rule: 'outside-window', strength: 'hard', ref: task.startCalendar })
    if (endMin > horizonMin) found.push({ ...one, rule: 'beyond-horizon', strength: 'soft', by: endMin - horizonMin })
    return found
  })

/** Every task has its crew, with every skill, on shift. */
export const crewComplete: Rule = (plan) =>
  plan.model.tasks.flatMap((task, i): BrokenRule[] => {
    if (isFact(plan, i) || task.crew === 0 || task.crewMin === 0) return []
    if (isByDay(task)) return crewThinkable(plan.model, i)
    const { people: ids, startMin } = plan.placed[i]!
    const one = { tasks: [task.key], strength: 'hard' as const }
    const people = ids.flatMap((id) => plan.model.personOf.get(id) ?? [])
    const found: BrokenRule[] = []
    // Who is not there has no skill either: that is one lack, told once.
    const lacking = task.skills.filter((skill) => !people.some((p) => plan.model.people[p]!.skills.has(skill)))
    const short = task.crew - people.length - lacking.length
    if (short > 0) found.push({ ...one, rule: 'no-person', by: short })
    for (const skill of lacking) found.push({ ...one, rule: 'no-person', ref: skill })
    const pieces = piecesOf(plan.model, i, people, startMin) ?? [[startMin, startMin + task.crewMin] as const]
    for (const p of people) {
      const { open, person } = plan.model.people[p]!
      if (!pieces.every((piece) => onShift(open, piece))) found.push({ ...one, rule: 'outside-shift', ref: person.id })
    }
    return found
  })

/** Of work by the day nobody is named; but somebody must be able to do it at all. */
function crewThinkable(model: Model, i: number): BrokenRule[] {
  const task = model.tasks[i]!
  const everybody = [...model.people.keys()]
  if (pickCrew(model, i, everybody, [], () => 0, false)) return []
  const one = { tasks: [task.key], rule: 'no-person', strength: 'hard' } as const
  const lost = task.skills.filter((skill) => !model.people.some((p) => p.skills.has(skill)))
  const short = task.crew - everybody.length
  if (lost.length === 0 && short <= 0) return [one]
  return [...lost.map((ref) => ({ ...one, ref })), ...(short > 0 ? [{ ...one, by: short }] : [])]
}

/** Every use and every hold has its units. */
export const unitsGiven: Rule = (plan) => [
  ...plan.model.tasks.flatMap((task, i): BrokenRule[] => {
    if (isFact(plan, i)) return []
    return task.uses.flatMap((use, k): BrokenRule[] => {
      if (isDrawn(plan.model, task, k)) return []
      const one = { strength: 'hard' as const, tasks: [task.key], ref: use.pool }
      const units = plan.uses[i]![k] ?? []
      if (units.length === 0) return [{ ...one, rule: 'no-unit', by: use.amount }]
      const has = units.reduce((sum, u) => sum + plan.model.units[u]!.unit.capacity, 0)
      return has + AMOUNT_SLOP < use.amount ? [{ ...one, rule: 'pool-short', by: use.amount - has }] : []
    })
  }),
  ...plan.model.holds.flatMap((h, k): BrokenRule[] => {
    const placed = plan.holds[k]!
    const wanted = h.fixed ? h.fixed.length : h.hold.count
    if (isFact(plan, h.from) && isFact(plan, h.to)) return []
    const one = { strength: 'hard' as const, tasks: [h.hold.from.task, h.hold.to.task] }
    if (placed.units.length < wanted)
      return [{ ...one, rule: 'no-unit', ref: h.hold.key, by: wanted - placed.units.length }]
    // Of units that are shared their books say it; of one or less only one booking is taken at a time.
    const units = placed.units.map((id) => plan.model.units[plan.model.unitOf.get(id)!]!)
    const short = (h.hold.amount ?? 0) - units.reduce((sum, u) => sum + u.unit.capacity, 0)
    return short > AMOUNT_SLOP && units.every((u) => u.single)
      ? [{ ...one, rule: 'pool-short', ref: placed.units.at(-1), by: short }]
      : []
  }),
]

/** Rules that each lot's work keeps or breaks by itself. */
export const RULES: readonly Rule[] = [lagsKept, datesKept, crewComplete, unitsGiven]

export const ownBroken = (plan: Finished): readonly BrokenRule[] => RULES.flatMap((rule) => rule(plan))

/** The same bookings as a book. */
function bookFrom(list: readonly Booking[]): Book {
  const book = bookOf()
  list.forEach(book.add)
  return book
}

/** All that is broken: by each task alone, and by two that want one person or one unit. */
export function brokenRules(plan: Finished, draft: Draft): readonly BrokenRule[] {
  const { model } = plan
  const people: Booking[][] = model.people.map(() => [])
  const units: Booking[][] = model.units.map(() => [])
  const fixed = model.units.map(() => bookOf())
  bookFixed(model, fixed)
  for (const { of, at, booking } of bookedBy(model, draft)) (of === 'person' ? people : units)[at]!.push(booking)
  fixed.forEach((book, u) => {
    units[u]!.push(...book.list)
  })
  const sideOf = sidesOf(model)
  const claims = claimBookOf()
  claimedBy(model, draft).forEach(claims.add)
  const claimed = claims.days().sort((a, b) => a - b)
  const books = { people: [] as readonly Book[], units: [] as readonly Book[], claims }
  if (claimed.length > 0) Object.assign(books, { people: people.map(bookFrom), units: units.map(bookFrom) })
  const inOrder = (list: readonly Booking[]) => [...list].sort((a, b) => a.fromMin - b.fromMin)
  return [
    ...ownBroken(plan),
    ...people.flatMap((list, p) => personBroken(model.people[p]!.person.id, inOrder(list), sideOf, model.travel)),
    ...units.flatMap((list, u) => unitBroken(model.units[u]!, inOrder(list), sideOf, model.problem.nowMin)),
    ...claimed.flatMap((day) => dayBroken(model, books, day)),
  ]
}
