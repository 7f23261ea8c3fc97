import type { Book, Booking } from './bookings.ts'
import { isOpen } from './calendar.ts'
import { type Books, isByDay } from './claims.ts'
import { crewNeeded, onShift, type Piece, tripOf, whoMay } from './crew.ts'
import { dayBefore } from './dayreasons.ts'
import type { Slot } from './desk.ts'
import { edgeFrom, edgeUntil, startFrom, startUntil } from './lag.ts'
import type { Model } from './model.ts'
import { wayMin } from './travel.ts'
import type { Cause, Task } from './types.ts'
import { AMOUNT_SLOP, clashes } from './unitroom.ts'

interface Bound {
  readonly atMin: number
  readonly cause: Cause
}

/** Everything the causes are read from: the finished plan with its bookings. */
export interface Scene {
  readonly model: Model
  readonly slots: readonly Slot[]
  readonly desk: Books
  /** The start the task asked for by itself. */
  readonly target: readonly (number | undefined)[]
  /** Units of the holds that begin with a task. */
  readonly holdUnits: readonly (readonly number[])[]
}

/** Limits within this of the binding one are named as tight too. */
const TIGHT_MIN = 60
const DAY_MIN = 1440

/** Why the task does not start sooner: the binding cause first. */
export function notEarlier(scene: Scene, i: number): readonly Cause[] {
  const { model, slots } = scene
  const task = model.tasks[i]!
  const start = slots[i]!.startMin
  const fixed = fixedBy(model, i)
  if (fixed) return [fixed]
  const bounds: Bound[] = [{ atMin: model.problem.nowMin, cause: { kind: 'now' } }]
  if (task.releaseMin !== undefined) bounds.push({ atMin: task.releaseMin, cause: { kind: 'release' } })
  for (const k of model.into[i]!) {
    const l = model.links[k]!
    const prev = slots[l.prev]!
    const edge = l.fromEnd ? prev.endMin : prev.startMin
    const atMin = startFrom(l, edge, model.working)
    bounds.push({ atMin, cause: { kind: 'link', ref: l.link.prev, lagMin: l.minLagMin } })
  }
  for (const k of model.outOf[i]!) {
    const l = model.links[k]!
    if (l.maxLagMin === Infinity) continue
    const edge = edgeFrom(l, slots[l.next]!.startMin, model.working)
    const atMin = edge - (l.fromEnd ? lengthOf(slots[i]!) : 0)
    bounds.push({ atMin, cause: { kind: 'link', ref: l.link.next, lagMin: l.maxLagMin } })
  }
  if (isByDay(task)) return notEarlierDay(scene, i, bounds)
  const tight = bounds.filter((b) => b.atMin > start - TIGHT_MIN && b.atMin <= start).sort((a, b) => b.atMin - a.atMin)
  if (tight[0]?.atMin === start) return tight.map((b) => b.cause)
  const blocked = blockedAt(scene, i, start - 1, false)
  const wished = blocked.length > 0 ? [] : [wishOf(scene, i)]
  return [...blocked, ...wished, ...tight.map((b) => b.cause)]
}

/** The same of work that is planned to the day: what binds it on that day, or why no day before would do. */
function notEarlierDay(scene: Scene, i: number, bounds: readonly Bound[]): readonly Cause[] {
  const { days } = scene.model
  const start = scene.slots[i]!.startMin
  const from = days.from(days.of(start))
  const before = bounds.filter((b) => b.atMin <= start).sort((a, b) => b.atMin - a.atMin)
  const today = before.filter((b) => b.atMin >= from).map((b) => b.cause)
  if (today.length > 0) return today
  const sinceMin = before[0]?.atMin ?? from
  const reasons = dayBefore(scene, i, sinceMin)
  const bind = before.filter((b) => b.atMin > from - DAY_MIN).map((b) => b.cause)
  if (reasons.some((r) => r.kind !== 'day')) return [...bind, ...reasons]
  return [...(reasons.length > 0 ? reasons : [wishOf(scene, i)]), ...bind]
}

/** Why the task cannot start later than it does: the closest limit first. */
export function notLater(scene: Scene, i: number): readonly Cause[] {
  const { model, slots } = scene
  const task = model.tasks[i]!
  const fixed = fixedBy(model, i)
  if (fixed) return [fixed]
  const start = slots[i]!.startMin
  const bounds: Bound[] = []
  if (task.dueMin !== undefined) bounds.push({ atMin: task.dueMin, cause: { kind: 'deadline' } })
  for (const k of model.into[i]!) {
    const l = model.links[k]!
    if (l.maxLagMin === Infinity) continue
    const prev = slots[l.prev]!
    const atMin = startUntil(l, l.fromEnd ? prev.endMin : prev.startMin, model.working)
    bounds.push({ atMin, cause: { kind: 'link', ref: l.link.prev, lagMin: l.maxLagMin } })
  }
  for (const k of model.outOf[i]!) {
    const l = model.links[k]!
    const edge = edgeUntil(l, slots[l.next]!.startMin, model.working)
    const atMin = edge - (l.fromEnd ? lengthOf(slots[i]!) : 0)
    if (Number.isFinite(atMin)) bounds.push({ atMin, cause: { kind: 'link', ref: l.link.next, lagMin: l.minLagMin } })
  }
  bounds.sort((a, b) => a.atMin - b.atMin)
  const first = bounds[0]?.atMin ?? Infinity
  const near = bounds.filter((b) => b.atMin <= first + TIGHT_MIN).map((b) => b.cause)
  return first <= start || isByDay(task) ? near : [...near, ...blockedAt(scene, i, start + 1, true)]
}

const lengthOf = (slot: Slot) => slot.endMin - slot.startMin

function fixedBy(model: Model, i: number): Cause | undefined {
  const task = model.tasks[i]!
  if (task.done || task.started) return { kind: 'done' }
  return task.pin?.startMin === undefined ? undefined : { kind: 'pin' }
}

function wishOf(scene: Scene, i: number): Cause {
  const { previous } = scene.model
  return previous.has(scene.model.tasks[i]!.key) ? { kind: 'previous' } : { kind: 'bias' }
}

/** What stands in the way of a start at this minute: the window, a unit, the people. */
function blockedAt(scene: Scene, i: number, at: number, later: boolean): readonly Cause[] {
  const { model, slots, desk } = scene
  const task = model.tasks[i]!
  const slot = slots[i]!
  const causes: Cause[] = []
  const window = task.startCalendar === undefined ? undefined : model.calendars.get(task.startCalendar)
  if (window && !isOpen(window, at)) causes.push({ kind: 'window', ref: task.startCalendar })
  for (const u of slot.units.flat()) {
    const wish = {
      fromMin: at,
      toMin: at + lengthOf(slot),
      group: task.group,
      amount: 0,
      cleanMin: 0,
      kind: 'task' as const,
    }
    const by = firstHit(
      desk.units[u]!,
      wish.fromMin,
      wish.toMin,
      (b) => b.key !== task.key && clashes(model.units[u]!, b, wish),
    )
    if (by) causes.push({ kind: 'unit', ref: model.units[u]!.unit.id, by: keyOf(by) })
  }
  if (!later)
    for (const u of scene.holdUnits[i]!) {
      if (!model.units[u]!.single) {
        const by = fullBy(scene, u, task.group, slot.startMin, at)
        if (by) causes.push({ kind: 'unit', ref: model.units[u]!.unit.id, by: keyOf(by) })
        continue
      }
      const by = firstHit(
        desk.units[u]!,
        at - DAY_MIN,
        slot.endMin,
        (b) => b.toMin <= slot.endMin && b.toMin > at - DAY_MIN && b.kind !== 'task',
      )
      if (by) causes.push({ kind: 'unit', ref: model.units[u]!.unit.id, by: keyOf(by) })
    }
  return [...causes, ...peopleAt(scene, i, at)]
}

/** Of a shared unit that would be over its amount with the lot's own share in it at this minute: who leaves it first. */
function fullBy({ model, desk }: Scene, u: number, group: string, startMin: number, at: number): Booking | undefined {
  const { capacity } = model.units[u]!.unit
  let own = 0
  desk.units[u]!.touching(startMin, startMin + 1, (b) => {
    if (b.group === group && b.kind === 'hold') own += b.amount
    return false
  })
  let others = 0
  let first: Booking | undefined
  desk.units[u]!.touching(at, at + 1, (b) => {
    if (b.group === group) return false
    others += b.amount
    if (!first || b.toMin < first.toMin) first = b
    return false
  })
  return others + own > capacity + AMOUNT_SLOP ? first : undefined
}

/** Who cannot come at this minute: off shift, or on other work. Silent when enough others could. */
function peopleAt(scene: Scene, i: number, at: number): readonly Cause[] {
  const { model, slots } = scene
  if (!crewNeeded(model, i)) return []
  const task = model.tasks[i]!
  const piece = [at, at + (task.interruptible ? 1 : task.crewMin)] as const
  const able = whoMay(model, i)
  // Its own people are looked at first: most often they could come, and nobody else need be asked.
  const own = slots[i]!.crew.people.filter((p) => able.includes(p))
  const first = own.flatMap((p) => awayAt(scene, p, task, piece) ?? [])
  if (first.length === 0 && own.length >= task.crew) return []
  const others = able.filter((p) => !own.includes(p))
  const rest = others.flatMap((p) => awayAt(scene, p, task, piece) ?? [])
  const free = able.length - first.length - rest.length
  return free >= task.crew && first.length === 0 ? [] : [...first, ...rest]
}

/** Why a person cannot come for this piece; undefined when they can. */
function awayAt({ model, desk }: Scene, p: number, task: Task, piece: Piece): Cause | undefined {
  const { open, person } = model.people[p]!
  if (!onShift(open, piece)) return { kind: 'shift', ref: person.id }
  let by: Booking | undefined
  desk.people[p]!.touching(piece[0], piece[1], (b) => {
    if (b.key === task.key) return false
    by = b
    return true
  })
  return by
    ? { kind: 'person', ref: person.id, by: keyOf(by) }
    : onTheWay(model, desk.people[p]!, person.id, task, piece)
}

/** The work at another site that a person could not come from, or go on to, in time. */
function onTheWay(model: Model, book: Book, ref: string, task: Task, [from, to]: Piece): Cause | undefined {
  const trip = tripOf(model, task)
  if (!trip) return undefined
  const { travel, site } = trip
  let found: Cause | undefined
  book.touching(from - travel.longestMin, to + travel.longestMin, (b) => {
    if (b.key === task.key) return false
    const lagMin = b.fromMin < from ? wayMin(travel, b.site ?? 0, site) : wayMin(travel, site, b.site ?? 0)
    if (b.fromMin < from ? b.toMin + lagMin <= from : b.fromMin - lagMin >= to) return false
    found = { kind: 'travel', ref, by: keyOf(b), lagMin }
    return true
  })
  return found
}

/** Washing and cleaning reach this far beside a booking at the most. */
const REACH_MIN = 2 * DAY_MIN

function firstHit(book: Book, fromMin: number, toMin: number, test: (b: Booking) => boolean): Booking | undefined {
  let hit: Booking | undefined
  book.touching(fromMin - REACH_MIN, toMin + REACH_MIN, (b) => {
    if (!test(b)) return false
    hit = b
    return true
  })
  return hit
}

const keyOf = (b: Booking): string | undefined => (b.kind === 'fixed' ? undefined : b.key)
