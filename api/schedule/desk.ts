import { firstAlone } from './alone.ts'
import { weightOf, yieldsOf } from './booked.ts'
import { type Book, bookOf } from './bookings.ts'
import { lastFit, nextFit } from './calendar.ts'
import { type Books, type Claim, claimBookOf, claimsOf, isByDay, isDrawn } from './claims.ts'
import {
  type Crew,
  crewNeeded,
  firstClash,
  freeFrom,
  type Passes,
  type Piece,
  pickCrew,
  piecesOf,
  tripOf,
  whoMay,
} from './crew.ts'
import { dayDeskOf } from './daydesk.ts'
import type { House, Model } from './model.ts'
import { choiceOf, pausedEnd, sharesOf } from './shares.ts'
import { type Trip, wayMin } from './travel.ts'
import { AMOUNT_SLOP, isDown, roomFor, type Wish } from './unitroom.ts'

/** Where and with whom a task could start. */
export interface Slot {
  readonly startMin: number
  readonly endMin: number
  readonly crewEndMin: number
  readonly crew: Crew
  /** One entry a use, in the order of the task's uses; a use may take several units. */
  readonly units: readonly (readonly number[])[]
}

/**
 * What a search may take although it is booked (units: machines, pools, vessels; taken: those of them that are in
 * service; or people; lighter: people from short and lighter work), or leave (its window).
 */
export type Loose = 'units' | 'taken' | 'crew' | 'lighter' | 'window'

/** Units that may be taken: free ones, those that other work has, too, or even those that are out of service. */
type Take = 'free' | 'booked' | 'any'
const TAKES: Readonly<Record<Loose, Take>> = {
  units: 'any',
  taken: 'booked',
  crew: 'free',
  lighter: 'free',
  window: 'free',
}

export interface Desk extends Books {
  /** First slot in [fromMin, untilMin], or the last one when going back. */
  readonly find: (i: number, fromMin: number, untilMin: number, back?: boolean, loose?: Loose) => Slot | undefined
  /** A slot at exactly this minute, with whatever crew and units can be had. Never says no. */
  readonly force: (i: number, startMin: number) => Slot
  readonly book: (i: number, slot: Slot) => void
  readonly free: (i: number) => void
}

/**
 * Holds that begin with a task: the next start worth trying when no vessel is free from then on.
 *
 * @param evenBooked one that others have does, but not one that is out of service
 */
export type HoldRoom = (i: number, slot: Slot, back: boolean, evenBooked: boolean) => number | undefined

const DAY_MIN = 1440
/** After so many tries in vain it is asked when the work could be done at all. */
const ASKS = new Set([4, 12, 40, 120, 400, 1_200])
const NOBODY: Crew = { people: [], pieces: [] }
/** A minute on the way counts as so many worked when it is asked who goes: whoever is there already. */
const WAY_WEIGHT = 4
/** Work as short as this may be put off for what is weightier. */
const SHORT_MIN = 60
/** More than any other reason to take somebody. */
const LEAVES = 3e6

/** Bookings of work that is not being placed now, fixed ones among them, and how long each person works on a day. */
export interface Stood extends Books {
  readonly workedMin: (person: number, day: number) => number
  /** Clean books over these, to place work in; what was written in them before is wiped. */
  readonly over: () => Books
}

/**
 * The bookings of all people and units, and the search for a slot among them.
 *
 * @param stood what other work has booked already; absent: nothing but the fixed bookings
 */
export function deskOf(model: Model, holdRoom?: HoldRoom, stood?: Stood): Desk {
  const books = stood ? stood.over() : newBooks(model)
  const { people, units, claims } = books
  const slots: (Slot | undefined)[] = model.tasks.map(() => undefined)
  const claimed: (readonly Claim[])[] = model.tasks.map(() => NO_CLAIMS)
  const load = model.people.map(() => new Map<number, number>())
  const everybody = [...model.people.keys()]
  const may = model.tasks.map((_, i) => (crewNeeded(model, i) ? whoMay(model, i) : []))
  const named = model.tasks.map((t) => {
    const ids = t.done?.people ?? t.started?.people ?? t.pin?.people ?? []
    return ids.flatMap((id) => model.personOf.get(id) ?? [])
  })
  const whom = model.tasks.map((_, i) => (named[i]!.length === 0 ? may[i]! : [...new Set([...named[i]!, ...may[i]!])]))
  // Of a crew that nobody could make up whole, as many as there are.
  const most = model.tasks.map((_, i) => {
    if (!crewNeeded(model, i) || pickCrew(model, i, may[i]!, named[i]!, () => 0, false)) return undefined
    return pickCrew(model, i, everybody, named[i]!, () => 0, true)?.length ?? 0
  })

  const daily = model.tasks.map(isByDay)
  const drawn = model.tasks.map((task, i) => task.uses.map((_, k) => daily[i]! && isDrawn(model, task, k)))
  const choices = model.tasks.map((task, i) => task.uses.map((use) => choiceOf(model, i, use)))
  // When each person was found to be free at the soonest, while one search goes on.
  const known = new Float64Array(people.length)

  /** Short work that gives way to this. */
  const lighterThan = (i: number): Passes => {
    const weight = weightOf(model, i)
    return (b) => b.yields !== undefined && b.yields < weight && b.toMin - b.fromMin <= SHORT_MIN
  }

  const suitOf = (i: number, t: number) => {
    const task = model.tasks[i]!
    const trip = tripOf(model, task)
    const before = model.previous.get(task.key)?.people ?? []
    const day = Math.floor(t / DAY_MIN)
    return (p: number): number => {
      const { id } = model.people[p]!.person
      if (before.includes(id)) return -2e6
      const wish = task.prefer?.indexOf(id) ?? -1
      if (wish >= 0) return -1e6 + wish
      // Evens the day out, and keeps people with rare skills free for the work that needs them.
      const fair = (stood?.workedMin(p, day) ?? 0) + (load[p]!.get(day) ?? 0) + 20 * model.people[p]!.skills.size
      return trip ? fair + WAY_WEIGHT * detourMin(people[p]!, t, t + task.crewMin, trip) : fair
    }
  }

  const findCrew = (i: number, t: number, back: boolean, lenient: boolean, passes?: Passes): Crew | number => {
    if (!crewNeeded(model, i)) return NOBODY
    const task = model.tasks[i]!
    const trip = tripOf(model, task)
    const never = back ? -Infinity : Infinity
    const free: number[] = []
    let retry = never
    for (const p of most[i] === undefined ? whom[i]! : everybody) {
      let at = known[p]!
      // Who was found free only from `at` on stays so while the search moves towards it.
      if (Number.isNaN(at) || (back ? at > t : at < t)) {
        at = freeFrom(model.people[p]!.open, people[p]!, t, task.crewMin, task.interruptible, back, trip, passes)
        known[p] = at
      }
      if (at === t) free.push(p)
      else retry = back ? Math.max(retry, at) : Math.min(retry, at)
    }
    const short = most[i]
    if (lenient || short !== undefined) {
      const most = pickCrew(model, i, free, named[i]!, suitOf(i, t), true) ?? []
      if (!lenient && most.length < short! && Number.isFinite(retry)) return retry
      const crew = task.whole && most.length < task.crew ? [] : most
      return { people: crew, pieces: piecesOf(model, i, crew, t) ?? [[t, t + task.crewMin]] }
    }
    if (!named[i]!.every((p) => free.includes(p))) return retry
    const suit = suitOf(i, t)
    // Who has nothing else goes before those who must leave something.
    const leaves = (p: number) => (passes && firstClash(people[p]!, [[t, t + task.crewMin]], trip) ? LEAVES : 0)
    const crew = pickCrew(model, i, free, named[i]!, passes ? (p) => suit(p) + leaves(p) : suit, false)
    if (!crew) return retry
    const pieces = piecesOf(model, i, crew, t)
    if (pieces && (crew.length === 1 || !crew.some((p) => firstClash(people[p]!, pieces, trip, passes))))
      return { people: crew, pieces }
    const step = back ? t - 15 : t + 15
    return back ? Math.max(retry, step) : Math.min(retry, step)
  }

  const ends = (i: number, t: number, crew: Crew): { endMin: number; crewEndMin: number } => {
    const task = model.tasks[i]!
    if (task.done) return { endMin: task.done.endMin, crewEndMin: Math.min(task.done.endMin, t + task.crewMin) }
    const crewEndMin = crew.pieces.at(-1)?.[1] ?? t
    const endMin =
      task.interruptible && crew.pieces.length > 0 ? pausedEnd(t, task.elapsedMin, crew) : t + task.elapsedMin
    return { endMin: task.started ? Math.max(endMin, model.problem.nowMin) : endMin, crewEndMin }
  }

  /** Units for each use at this slot, or the next start worth trying. */
  const findUnits = (i: number, t: number, endMin: number, back: boolean, take: Take): number[][] | number => {
    const task = model.tasks[i]!
    const chosen: number[][] = []
    const never = back ? -Infinity : Infinity
    for (let k = 0; k < task.uses.length; k++) {
      const use = task.uses[k]!
      if (drawn[i]![k]) {
        chosen.push([])
        continue
      }
      const { options, largest } = choices[i]![k]!
      let left = use.amount
      let retry = never
      const got: number[] = []
      for (const u of options) {
        if (left <= AMOUNT_SLOP || (model.units[u]!.single && chosen.some((c) => c.includes(u)))) continue
        const amount = use.amount <= largest + AMOUNT_SLOP ? left : Math.min(left, model.units[u]!.unit.capacity)
        const wish: Wish = { fromMin: t, toMin: endMin, group: task.group, amount, cleanMin: 0, kind: 'task' }
        const no = roomFor(model.units[u]!, units[u]!, wish, back)
        if (no) {
          retry = back ? Math.max(retry, no.retryMin) : Math.min(retry, no.retryMin)
          continue
        }
        got.push(u)
        left -= amount
      }
      if (left > AMOUNT_SLOP) {
        if (take === 'free') return retry
        const there = options.find((u) => !isDown(model.units[u]!, t, endMin))
        if (got.length === 0 && there === undefined && take === 'booked' && options.length > 0) return retry
        const one = there ?? options[0]
        if (got.length === 0 && one !== undefined) got.push(one)
      }
      chosen.push(got)
    }
    return chosen
  }

  const byDay = dayDeskOf(model, books, {
    ends,
    units: (i, t, endMin, back, loose) => findUnits(i, t, endMin, back, TAKES[loose ?? 'crew']),
    holdRoom,
  })

  const find: Desk['find'] = (i, fromMin, untilMin, back = false, loose) => {
    const task = model.tasks[i]!
    const window = task.startCalendar === undefined ? undefined : model.calendars.get(task.startCalendar)
    if (daily[i]) return byDay.find(i, fromMin, untilMin, back, loose)
    let t = back ? untilMin : fromMin
    const passes = loose === 'lighter' ? lighterThan(i) : undefined
    known.fill(Number.NaN)
    for (let guard = 0; guard < 5_000; guard++) {
      if (ASKS.has(guard) && !back && !loose) t = firstAlone(model, i, t)
      if (window && loose !== 'window') t = back ? lastFit(window, t, 1) : nextFit(window, t, 1)
      if (!Number.isFinite(t) || t < fromMin || t > untilMin) return undefined
      const crew = findCrew(i, t, back, loose === 'crew', passes)
      let retry: number | undefined
      if (typeof crew === 'number') retry = crew
      else {
        const { endMin, crewEndMin } = ends(i, t, crew)
        const found = findUnits(i, t, endMin, back, TAKES[loose ?? 'crew'])
        if (typeof found === 'number') retry = found
        else {
          const slot = { startMin: t, endMin, crewEndMin, crew, units: found }
          retry = loose === 'units' ? undefined : holdRoom?.(i, slot, back, loose === 'taken')
          if (retry === undefined) return slot
        }
      }
      t = back ? Math.min(retry, t - 1) : Math.max(retry, t + 1)
    }
    return undefined
  }

  const force: Desk['force'] = (i, startMin) => {
    const task = model.tasks[i]!
    if (daily[i]) {
      const slot = byDay.slot(i, startMin)
      return { ...slot, units: findUnits(i, startMin, slot.endMin, false, 'any') as number[][] }
    }
    const facts = task.done ?? task.started
    known.fill(Number.NaN)
    const crew: Crew = facts
      ? { people: named[i]!, pieces: factPieces(i, startMin) }
      : (findCrew(i, startMin, false, true) as Crew)
    const { endMin, crewEndMin } = ends(i, startMin, crew)
    const found = findUnits(i, startMin, endMin, false, 'any')
    return { startMin, endMin, crewEndMin, crew, units: found as number[][] }
  }

  /** Labour that has begun and should be over by now still holds its people. */
  const factPieces = (i: number, startMin: number): readonly Piece[] => {
    const task = model.tasks[i]!
    // What takes no hands holds none, however long ago it began.
    if (task.crewMin === 0) return []
    const planned = startMin + task.crewMin
    if (task.done) return [[startMin, Math.min(task.done.endMin, planned)]]
    const pieces = task.interruptible ? piecesOf(model, i, named[i]!, startMin) : undefined
    if (pieces && (pieces.at(-1)?.[1] ?? 0) >= model.problem.nowMin) return pieces
    return [[startMin, task.crewMin >= task.elapsedMin ? Math.max(planned, model.problem.nowMin) : planned]]
  }

  const book: Desk['book'] = (i, slot) => {
    slots[i] = slot
    const task = model.tasks[i]!
    if (daily[i]) {
      claimed[i] = claimsOf(model, i, slot)
      claimed[i]!.forEach(claims.add)
    }
    const owner = { owner: i, kind: 'task' as const, group: task.group, cleanMin: 0, key: task.key }
    const yields = yieldsOf(model, i)
    for (const p of slot.crew.people)
      for (const [fromMin, toMin] of slot.crew.pieces) {
        people[p]!.add({ ...owner, fromMin, toMin, amount: 1, site: task.site ?? 0, yields })
        addLoad(p, fromMin, toMin - fromMin)
      }
    task.uses.forEach((use, k) => {
      for (const [u, amount] of sharesOf(model, slot.units[k]!, use.amount))
        units[u]!.add({ ...owner, fromMin: slot.startMin, toMin: slot.endMin, amount })
    })
  }

  const free: Desk['free'] = (i) => {
    const slot = slots[i]
    if (!slot) return
    claimed[i]!.forEach(claims.drop)
    claimed[i] = NO_CLAIMS
    for (const p of slot.crew.people) {
      for (const [from, to] of slot.crew.pieces) {
        people[p]!.remove('task', i, from)
        addLoad(p, from, from - to)
      }
    }
    for (const u of slot.units.flat()) units[u]!.remove('task', i, slot.startMin)
    slots[i] = undefined
  }

  const addLoad = (p: number, at: number, minutes: number) => {
    const day = Math.floor(at / DAY_MIN)
    load[p]!.set(day, (load[p]!.get(day) ?? 0) + minutes)
  }

  if (!stood) bookFixed(model, units)
  return { people, units, claims, find, force, book, free }
}

/** Minutes on the way that work at a site adds to what the person does before and after it on that day. */
function detourMin(book: Book, fromMin: number, toMin: number, { travel, site }: Trip): number {
  let before = 0
  let after = 0
  let isAfter = false
  book.touching(fromMin - DAY_MIN / 2, toMin + DAY_MIN / 2, (b) => {
    if (b.toMin <= fromMin) before = wayMin(travel, b.site ?? 0, site)
    isAfter = b.fromMin >= toMin
    if (isAfter) after = wayMin(travel, site, b.site ?? 0)
    return isAfter
  })
  return before + after
}

const NO_CLAIMS: readonly Claim[] = []

const newBooks = (model: Model): Books => ({
  people: model.people.map(() => bookOf()),
  units: model.units.map(() => bookOf()),
  claims: claimBookOf(),
})

/** Minutes at which a unit is not to be had. */
export function bookFixed(house: House, units: readonly Book[]): void {
  house.units.forEach((u, k) => {
    for (const b of u.unit.booked ?? []) {
      const amount = b.amount ?? u.unit.capacity
      units[k]!.add({
        fromMin: b.fromMin,
        toMin: b.toMin,
        owner: -1,
        kind: 'fixed',
        group: '',
        amount,
        cleanMin: 0,
        key: '',
      })
    }
  })
}
