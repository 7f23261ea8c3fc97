import { firstAlone } from './alone.ts'
import { type Berth, berthsOf } from './berths.ts'
import { weightOf } from './booked.ts'
import { type Books, isByDay } from './claims.ts'
import { A_TURN, clustersOf } from './clusters.ts'
import { crewNeeded } from './crew.ts'
import { deskOf, type Slot, type Stood } from './desk.ts'
import { heapOf } from './heap.ts'
import { moveLate } from './late.ts'
import type { Model } from './model.ts'
import { capOf, crossedBy, lawfulBeside } from './neighbours.ts'
import { factOf, type Labels, type Network, type Switches } from './network.ts'
import { pushBehind } from './push.ts'

/** What stays the same over all schedules built for one problem. */
export interface Ground {
  readonly model: Model
  readonly network: Network
  /** Bounds by links and facts alone. */
  readonly base: Labels
  /** Where each task would like to start, wishes of its neighbours included. */
  readonly want: Float64Array
  /** Latest starts that hard limits and deadlines leave, whoever is placed where. */
  readonly lawfulHi: Float64Array
  /** The start a task asks for by itself: its old place, or the minute it wants to be near. */
  readonly target: readonly (number | undefined)[]
  /** Limits that take no part, since they chase each other. */
  readonly off: Switches
  /** What other work has booked, where only a part of the cellar is placed. */
  readonly stood?: Stood
}

export interface Draft {
  readonly slots: readonly Slot[]
  readonly berths: readonly (Berth | undefined)[]
  /** The books it was placed in, with what else stands there. */
  readonly books?: Books
}

/** Takings-out per task after which a group of tied work stops looking for a place where all its limits hold. */
const STRAIN = 2

/** Work may wait this long past its last lawful start before it takes what others have booked. */
const WAITS_MIN = 12 * 60

/** Hears how many tasks are placed, now and then. */
export type Heard = (placed: number) => void
const HEARD_EVERY = 200

/** A shift of each task's turn, in minutes: the search varies it. */
export type Turns = Float64Array

/**
 * Builds one schedule, task by task in the order of the starts they could have. Facts first, then what may stay where
 * it was, then the rest. A task that cannot meet a limit set by a placed neighbour takes its place later, and the
 * neighbour is taken out and placed anew behind it (Franck, Neumann and Schwindt 2001, from memory).
 *
 * @param firm nothing waits past its last lawful start, and wishes and short, lighter work give way first: what is short
 *   then is hands. The usual way finds the better plan where all limits can be kept.
 */
export function buildDraft(ground: Ground, turns?: Turns, heard?: Heard, firm = false): Draft {
  const { model, network, base, want, target, lawfulHi } = ground
  const size = model.tasks.length
  const labels: Labels = {
    lo: base.lo.slice(),
    hi: base.hi.slice(),
    loBy: base.loBy.slice(),
    hiBy: base.hiBy.slice(),
    settled: new Uint8Array(size),
    length: base.length.slice(),
  }
  const slots: (Slot | undefined)[] = model.tasks.map(() => undefined)
  const fact = model.tasks.map((_, i) => factOf(model, i) !== undefined)
  const expected = (i: number) => Math.max(labels.lo[i]!, Math.min(want[i]!, labels.hi[i]!))
  const berths = berthsOf(model, () => desk, { slotOf: (i) => slots[i], expected, lengthOf: (i) => labels.length[i]! })
  const desk = deskOf(model, berths.room, ground.stood)
  const heap = heapOf()
  const { clusterOf, turnOf } = clustersOf(model, want, turns)
  const key = (i: number) => turnOf[clusterOf[i]!]! * A_TURN + expected(i) + (turns?.[i] ?? 0)
  const tries = new Int32Array(size)
  const membersOf = listsOf(clusterOf, turnOf.length)
  const strain = new Int32Array(turnOf.length)
  const loose = new Uint8Array(turnOf.length)
  let left = 3 * size + 100

  const movable = (i: number) => !fact[i] && left > 0 && tries[i]! < 40

  const place = (i: number, slot: Slot) => {
    desk.book(i, slot)
    slots[i] = slot
    settle(i, slot)
    network.spreadLo(labels, [i])
    network.spreadHi(labels, [i])
    for (const b of berths.settle(i)) {
      if (b.owner < 0) continue
      const owner = b.kind === 'hold' ? model.holds[b.owner]!.from : b.owner
      if (owner !== i && slots[owner] && movable(owner)) takeOut(owner)
    }
  }

  const settle = (i: number, slot: Slot) => {
    labels.settled[i] = 1
    labels.lo[i] = slot.startMin
    labels.hi[i] = slot.startMin
    labels.length[i] = slot.endMin - slot.startMin
  }

  const takeOut = (i: number) => {
    left--
    tries[i]!++
    strain[clusterOf[i]!]!++
    desk.free(i)
    berths.release(i)
    slots[i] = undefined
    const members = model.parts[model.partOf[i]!]!
    network.reset(labels, false, members)
    for (const m of members) {
      labels.settled[m] = 0
      const slot = slots[m]
      if (slot) settle(m, slot)
    }
    network.spreadLo(labels, members)
    network.spreadHi(labels, members)
    heap.push(i, key(i))
  }

  /** A slot up to the last lawful start; past that no search helps, and undefined says so. */
  const search = (i: number, lawful: number): Slot | undefined => {
    const from = expected(i)
    const lo = labels.lo[i]!
    // Where nobody who could do it is ever there in its hours, other hours are better than nobody.
    if (neverFits(i)) return desk.find(i, from, lawful, false, 'window') ?? desk.force(i, from)
    const later = desk.find(i, from, lawful)
    if (later && later.startMin <= labels.hi[i]! && (later.startMin === from || target[i] === undefined)) return later
    const sooner = from > lo ? desk.find(i, lo, from - 1, true) : undefined
    if (sooner && (!later || later.startMin > labels.hi[i]! || from - sooner.startMin < later.startMin - from))
      return sooner
    return (
      later ?? (lawful === Infinity ? (desk.find(i, from, lawful, false, 'window') ?? desk.force(i, from)) : undefined)
    )
  }

  const neverFits = (i: number): boolean => firstAlone(model, i, 0) === Infinity

  const waitsMin = firm ? 0 : WAITS_MIN
  const weight = (i: number) => weightOf(model, i)

  /** Whether a placed task may be taken out for another: never a weightier one, nor one of tied work that strained too long. */
  const givesWay = (j: number, i: number) =>
    movable(j) && weight(j) <= weight(i) && !(loose[clusterOf[i]!] && clusterOf[i] === clusterOf[j])

  /**
   * The place in time is kept, and what it takes twice is reported: first machines and vessels, then people. Past the
   * last lawful start no neighbour's move helps any more, and a weightier neighbour is not moved at all: fruit does not
   * wait for a hand that washes the press.
   */
  const insist = (i: number, untilMin: number, slot: Slot | undefined): Slot => {
    const from = expected(i)
    const until = Math.max(untilMin, from)
    return (
      desk.find(i, from, until, false, firm ? 'taken' : 'units') ??
      desk.find(i, from, until, false, 'crew') ??
      (slot && slot.startMin <= from + waitsMin ? slot : desk.force(i, from))
    )
  }

  const isShort = (i: number, slot: Slot) => crewNeeded(model, i) && slot.crew.people.length < model.tasks[i]!.crew

  /** Before a hard limit breaks, short and lighter work leaves its people: fruit does not wait for a round. */
  const takenFromLighter = (i: number): Slot | undefined => desk.find(i, expected(i), lastLawful(i), false, 'lighter')

  const lastLawful = (i: number) => Math.min(labels.hi[i]!, lawfulHi[i]!)

  /** Work of this placing that has lost its people to the slot is placed anew. */
  const sendAway = (i: number, slot: Slot) => {
    for (const p of slot.crew.people)
      for (const [fromMin, toMin] of slot.crew.pieces) {
        const others: number[] = []
        desk.people[p]!.touching(fromMin, toMin, (b) => {
          if (b.owner >= 0 && b.owner !== i) others.push(b.owner)
          return false
        })
        for (const j of others) if (slots[j] && givesWay(j, i)) takeOut(j)
      }
  }

  const placeNext = (i: number) => {
    const lawful = Math.max(lawfulHi[i]!, expected(i) + waitsMin)
    const found = search(i, lawful)
    let slot = found && found.startMin <= lawful ? found : insist(i, lawful, found)
    const isBad = () => firm && (isShort(i, slot) || slot.startMin > lawfulHi[i]!)
    if (isBad() || (firm && slot.startMin > labels.hi[i]!)) slot = takenFromLighter(i) ?? slot
    while (slot.startMin > labels.hi[i]!) {
      const cap = capOf(model, labels, slots, i)
      if (cap === undefined) break
      if (!givesWay(cap, i)) {
        // A wish gives way before hands and machines do.
        if (firm && !isShort(i, slot) && slot.startMin <= lawfulBeside(ground, slots, i, slot)) break
        const kept = insist(i, labels.hi[i]!, slot)
        // Where no hand or machine helps, only the neighbour's move does, however weighty.
        if (kept.startMin <= labels.hi[i]! || !movable(cap) || loose[clusterOf[i]!]) {
          slot = kept
          break
        }
      }
      takeOut(cap)
    }
    // With what hung on it out of the way there may be room that keeps all limits.
    if (isBad()) slot = desk.find(i, expected(i), lastLawful(i)) ?? takenFromLighter(i) ?? slot
    if (firm) sendAway(i, slot)
    for (const j of crossedBy(model, slots, i, slot)) if (slots[j] && givesWay(j, i)) takeOut(j)
    place(i, slot)
    const c = clusterOf[i]!
    if (!loose[c] && strain[c]! > STRAIN * membersOf[c]!.length + 10) loosen(c)
  }

  /** Its limits cannot all be met where it stands: it is laid out once more from the front, and what breaks is reported. */
  const loosen = (c: number) => {
    loose[c] = 1
    for (const m of membersOf[c]!) if (slots[m] && !fact[m]) takeOut(m)
  }

  const byKey = [...model.tasks.keys()].sort((a, b) => key(a) - key(b) || a - b)
  for (const i of byKey) if (fact[i]) place(i, desk.force(i, factOf(model, i)!))
  const known = byKey.filter((i) => model.previous.has(model.tasks[i]!.key) && !turns?.[i])
  const isNew = (i: number) => model.previous.get(model.tasks[i]!.key)?.byDay === true && !isByDay(model.tasks[i]!)
  const keep = (i: number, fromMin: number, untilMin: number) => {
    if (slots[i] || untilMin < labels.lo[i]! || fromMin > labels.hi[i]!) return
    const slot = desk.find(i, Math.max(fromMin, labels.lo[i]!), Math.min(untilMin, labels.hi[i]!))
    if (slot && crossedBy(model, slots, i, slot).length === 0) place(i, slot)
  }
  const wasAt = (i: number) => model.previous.get(model.tasks[i]!.key)!.startMin
  for (const i of known) if (!isNew(i)) keep(i, wasAt(i), wasAt(i))
  // Of work whose hour and hands are named now only the day was known.
  for (const i of known)
    if (isNew(i)) {
      keep(i, wasAt(i), wasAt(i))
      const day = model.days.of(wasAt(i))
      keep(i, model.days.from(day), model.days.from(day + 1) - 1)
    }
  for (const i of byKey) if (!slots[i]) heap.push(i, key(i))
  let placed = 0
  for (let next = heap.pop(); next; next = heap.pop()) {
    if (slots[next.i]) continue
    const now = key(next.i)
    if (now > next.key) heap.push(next.i, now)
    else placeNext(next.i)
    // Work that is taken out again is placed twice: as a measure of how far it is, that does.
    if (heard && ++placed % HEARD_EVERY === 0) heard(Math.min(placed, size))
  }
  moveLate(ground, slots as Slot[], desk.find, desk.book, desk.free, (i) => berths.settle(i))
  pushBehind(ground, slots as Slot[], desk, (i) => berths.settle(i))
  return { slots: slots as Slot[], berths: model.holds.map((_, h) => berths.of(h)), books: desk }
}

function listsOf(clusterOf: Int32Array, count: number): number[][] {
  const lists: number[][] = Array.from({ length: count }, () => [])
  clusterOf.forEach((c, i) => {
    lists[c]!.push(i)
  })
  return lists
}
