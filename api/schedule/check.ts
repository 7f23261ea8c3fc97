import type { Booking } from './bookings.ts'
import { isOpen, nextFit } from './calendar.ts'
import { onShift, piecesOf } from './crew.ts'
import { sharesOf } from './desk.ts'
import { edgeUntil, startFrom, startUntil } from './lag.ts'
import type { Model } from './model.ts'
import type { BrokenRule, Placed, PlacedHold } from './types.ts'
import { AMOUNT_SLOP, gapMin, sameLotInside } from './unitroom.ts'

/** A finished plan by index. `uses[i][k]` are the units that use k of task i has. */
export interface Finished {
  readonly model: Model
  readonly placed: readonly Placed[]
  readonly uses: readonly (readonly (readonly number[])[])[]
  readonly holds: readonly PlacedHold[]
}

/** A rule of the plan: one sentence, one function. The list serves the engine, the tests and the screen. */
export type Rule = (plan: Finished) => readonly BrokenRule[]

/** What has happened is not judged; only a rule that touches open work can still be mended. */
const isFact = (plan: Finished, i: number) =>
  plan.model.tasks[i]!.done !== undefined || plan.model.tasks[i]!.started !== undefined

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
    const { people: ids, startMin } = plan.placed[i]!
    const one = { tasks: [task.key], strength: 'hard' as const }
    const people = ids.flatMap((id) => plan.model.personOf.get(id) ?? [])
    const found: BrokenRule[] = []
    if (people.length < task.crew) found.push({ ...one, rule: 'no-person', by: task.crew - people.length })
    for (const skill of task.skills)
      if (!people.some((p) => plan.model.people[p]!.skills.has(skill)))
        found.push({ ...one, rule: 'no-person', ref: skill })
    const pieces = piecesOf(plan.model, i, people, startMin) ?? [[startMin, startMin + task.crewMin] as const]
    for (const p of people) {
      const { open, person } = plan.model.people[p]!
      if (!pieces.every((piece) => onShift(open, piece))) found.push({ ...one, rule: 'outside-shift', ref: person.id })
    }
    return found
  })

/** Nobody works on two tasks at once. */
export const peopleOnce: Rule = (plan) => {
  const busy: { from: number; to: number; i: number }[][] = plan.model.people.map(() => [])
  plan.model.tasks.forEach((task, i) => {
    if (task.crewMin === 0 || task.crew === 0) return
    const { people: ids, startMin, crewEndMin } = plan.placed[i]!
    const people = ids.flatMap((id) => plan.model.personOf.get(id) ?? [])
    const pieces = isFact(plan, i) ? undefined : piecesOf(plan.model, i, people, startMin)
    for (const p of people)
      for (const [from, to] of pieces ?? [[startMin, crewEndMin] as const]) busy[p]!.push({ from, to, i })
  })
  return busy.flatMap((spans, p) => {
    const ref = plan.model.people[p]!.person.id
    return overlaps(spans)
      .filter(([a, b]) => a.i !== b.i && !(isFact(plan, a.i) && isFact(plan, b.i)))
      .map(([a, b]): BrokenRule => {
        const tasks = [plan.model.tasks[a.i]!.key, plan.model.tasks[b.i]!.key]
        return { rule: 'person-taken', strength: 'hard', tasks, ref, by: Math.min(a.to, b.to) - b.from }
      })
  })
}

/** Every use and every hold has its units. */
export const unitsGiven: Rule = (plan) => [
  ...plan.model.tasks.flatMap((task, i): BrokenRule[] => {
    if (isFact(plan, i)) return []
    return task.uses.flatMap((use, k): BrokenRule[] => {
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
    if (placed.units.length >= wanted || (isFact(plan, h.from) && isFact(plan, h.to))) return []
    const by = wanted - placed.units.length
    return [{ rule: 'no-unit', strength: 'hard', tasks: [h.hold.from.task, h.hold.to.task], ref: h.hold.key, by }]
  }),
]

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

export const RULES: readonly Rule[] = [
  lagsKept,
  datesKept,
  crewComplete,
  peopleOnce,
  unitsGiven,
  unitsShared,
  unitsOpen,
]

export const brokenRules = (plan: Finished): readonly BrokenRule[] => RULES.flatMap((rule) => rule(plan))

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

function overlaps<T extends { readonly from: number; readonly to: number }>(spans: readonly T[]): [T, T][] {
  const found: [T, T][] = []
  let open: T[] = []
  for (const b of spans.filter((s) => s.from < s.to).sort((x, y) => x.from - y.from)) {
    open = open.filter((a) => a.to > b.from)
    for (const a of open) found.push([a, b])
    open.push(b)
  }
  return found
}
