/** Work that is planned to the day: what it asks of the day, and what people and machines have left to give. */
import type { Book } from './bookings.ts'
import { type Open, openOf, piecesFrom, spanAt } from './calendar.ts'
import { crewNeeded, type Piece, whoMay } from './crew.ts'
import { eachDay } from './days.ts'
import type { Slot } from './desk.ts'
import type { House, Model } from './model.ts'
import type { BrokenRule, Task } from './types.ts'
import { AMOUNT_SLOP } from './unitroom.ts'

/** Minutes of a day that one task asks for: of all hands (`hands`), of those with a skill, of the machines of a pool. */
export interface Claim {
  readonly key: string
  readonly day: number
  readonly ref: string
  readonly minutes: number
}

export interface ClaimBook {
  readonly add: (claim: Claim) => void
  readonly drop: (claim: Claim) => void
  readonly on: (day: number) => readonly Claim[]
  readonly days: () => number[]
}

/** What is booked by the minute, and what is claimed by the day. */
export interface Books {
  readonly people: readonly Book[]
  readonly units: readonly Book[]
  readonly claims: ClaimBook
}

/** Open work of which nobody has fixed anything. */
export const isByDay = (task: Task): boolean => task.byDay === true && !task.done && !task.started && !task.pin

export function claimBookOf(): ClaimBook {
  const byDay = new Map<number, Claim[]>()
  return {
    add: (claim) => {
      const list = byDay.get(claim.day)
      if (list) list.push(claim)
      else byDay.set(claim.day, [claim])
    },
    drop: (claim) => {
      const list = byDay.get(claim.day) ?? []
      const at = list.indexOf(claim)
      if (at >= 0) list.splice(at, 1)
      if (list.length === 0) byDay.delete(claim.day)
    },
    on: (day) => byDay.get(day) ?? NONE,
    days: () => [...byDay.keys()],
  }
}

const NONE: readonly Claim[] = []

/** A book laid over another: what is added stands in it alone. */
export function claimBookOver(below: ClaimBook): ClaimBook {
  const own = claimBookOf()
  return {
    add: own.add,
    drop: own.drop,
    on: (day) => {
      const mine = own.on(day)
      return mine.length === 0 ? below.on(day) : [...below.on(day), ...mine]
    },
    days: () => [...new Set([...below.days(), ...own.days()])],
  }
}

/** Whether a use of a task by the day comes out of its pool's day: any of several machines that go one at a time. */
export function isDrawn(model: Model, task: Task, k: number): boolean {
  const use = task.uses[k]!
  const pool = model.poolUnits.get(use.pool) ?? []
  return isByDay(task) && use.units === undefined && pool.length > 0 && pool.every((u) => model.units[u]!.single)
}

/** When a crew that is not named yet would work: in one go, or while anybody who could is on shift. */
export function dayPieces(model: Model, i: number, startMin: number): readonly Piece[] {
  const task = model.tasks[i]!
  if (!crewNeeded(model, i)) return []
  const paused = task.interruptible ? piecesFrom(hoursOf(model, whoMay(model, i)), startMin, task.crewMin) : undefined
  return paused ?? [[startMin, startMin + task.crewMin]]
}

/** Time in which anybody of these is on shift. */
function hoursOf(house: House, people: readonly number[]): Open {
  const known = house.hours.get(people)
  if (known) return known
  const spans = people.flatMap((p) => {
    const { open } = house.people[p]!
    return open.from.map((from, k) => [from, open.to[k]!] as const)
  })
  const open = openOf(spans)
  house.hours.set(people, open)
  return open
}

/**
 * What a task at this place asks of each day it touches. Of a crew larger than all people together, and of a skill that
 * nobody has, the day knows nothing: that is reported of the task itself.
 */
export function claimsOf(model: Model, i: number, slot: Pick<Slot, 'startMin' | 'endMin' | 'crew'>): readonly Claim[] {
  const task = model.tasks[i]!
  if (!isByDay(task)) return []
  const sums = new Map<string, Claim>()
  const ask = (ref: string, times: number) => (day: number, minutes: number) => {
    const sign = `${day} ${ref}`
    const was = sums.get(sign)?.minutes ?? 0
    sums.set(sign, { key: task.key, day, ref, minutes: was + times * minutes })
  }
  const crew = Math.min(task.crew, model.people.length)
  for (const [from, to] of slot.crew.pieces) {
    if (crew > 0) eachDay(model.days, from, to, ask('hands', crew))
    for (const skill of task.skills)
      if (model.people.some((p) => p.skills.has(skill))) eachDay(model.days, from, to, ask(`skill ${skill}`, 1))
  }
  task.uses.forEach((use, k) => {
    if (!isDrawn(model, task, k)) return
    const machines = Math.ceil(use.amount - AMOUNT_SLOP)
    eachDay(model.days, slot.startMin, slot.endMin, ask(`pool ${use.pool}`, machines))
  })
  return [...sums.values()]
}

/** Minutes that people on shift, or machines, have left on a day beside what is booked by the minute. */
export function leftOn(house: House, books: Pick<Books, 'people' | 'units'>, ref: string, day: number): number {
  const from = house.days.from(day)
  const to = house.days.from(day + 1)
  if (ref.startsWith(POOL))
    return (house.poolUnits.get(ref.slice(POOL.length)) ?? []).reduce(
      (sum, u) => sum + freeMin(house.units[u]!.open, books.units[u]!, from, to),
      0,
    )
  const skill = ref.startsWith(SKILL) ? ref.slice(SKILL.length) : undefined
  return house.people.reduce(
    (sum, { open, skills }, p) =>
      skill === undefined || skills.has(skill) ? sum + freeMin(open, books.people[p]!, from, to) : sum,
    0,
  )
}

const POOL = 'pool '
const SKILL = 'skill '

/** Books of those who give a day what is asked for: people, people with a skill, machines of a pool. */
export function booksOf(house: House, books: Pick<Books, 'people' | 'units'>, ref: string): readonly Book[] {
  if (ref.startsWith(POOL)) return (house.poolUnits.get(ref.slice(POOL.length)) ?? []).map((u) => books.units[u]!)
  const skill = ref.startsWith(SKILL) ? ref.slice(SKILL.length) : undefined
  return books.people.filter((_, p) => skill === undefined || house.people[p]!.skills.has(skill))
}

/** Open minutes of [from, to) that no booking touches. */
function freeMin(open: Open | undefined, book: Book, from: number, to: number): number {
  const spans = open ? spansIn(open, from, to) : [[from, to] as const]
  return spans.reduce((sum, [a, b]) => {
    let at = a
    let left = 0
    book.touching(a, b, (x) => {
      if (x.fromMin > at) left += x.fromMin - at
      at = Math.max(at, x.toMin)
      return at >= b
    })
    return sum + left + Math.max(0, b - at)
  }, 0)
}

function spansIn(open: Open, from: number, to: number): (readonly [number, number])[] {
  const spans: (readonly [number, number])[] = []
  for (let k = Math.max(0, spanAt(open, from)); k < open.from.length && open.from[k]! < to; k++)
    if (open.to[k]! > from) spans.push([Math.max(from, open.from[k]!), Math.min(to, open.to[k]!)])
  return spans
}

/** Of several claims of one task the first for which its day has no room beside what other work has claimed. */
export function overfull(house: House, books: Books, claims: readonly Claim[]): Claim | undefined {
  return claims.find(({ key, day, ref, minutes }) => {
    const others = books.claims.on(day).reduce((sum, c) => (c.ref === ref && c.key !== key ? sum + c.minutes : sum), 0)
    return others + minutes > leftOn(house, books, ref, day)
  })
}

/** What is asked of a day beyond what it has, with all that ask for it. */
export function dayBroken(house: House, books: Books, day: number): readonly BrokenRule[] {
  const byRef = new Map<string, Claim[]>()
  for (const c of books.claims.on(day)) byRef.set(c.ref, [...(byRef.get(c.ref) ?? []), c])
  return [...byRef.keys()].sort().flatMap((ref): BrokenRule[] => {
    const claims = byRef.get(ref)!
    const by = claims.reduce((sum, c) => sum + c.minutes, 0) - leftOn(house, books, ref, day)
    const tasks = claims.map((c) => c.key).sort()
    return by > 0 ? [{ rule: 'day-full', strength: 'hard', tasks, ref, dayMin: house.days.from(day), by }] : []
  })
}
