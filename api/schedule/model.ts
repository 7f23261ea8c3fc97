import { type Open, openOf, unionOf } from './calendar.ts'
import { type Days, daysOf } from './days.ts'
import { type Travel, travelOf } from './travel.ts'
import type { Hold, Link, Person, Problem, Task, Unit } from './types.ts'

/** People, units and calendars by index: what all work of a cellar shares. */
export interface House {
  readonly people: readonly ModelPerson[]
  readonly personOf: ReadonlyMap<string, number>
  readonly units: readonly ModelUnit[]
  readonly unitOf: ReadonlyMap<string, number>
  readonly poolUnits: ReadonlyMap<string, readonly number[]>
  readonly calendars: ReadonlyMap<string, Open>
  /** People's working time: open when anybody is on shift. Lags on the working clock count in it. */
  readonly working: Open
  /** Absent: nobody ever travels. */
  readonly travel?: Travel
  readonly days: Days
  /** Remembers when anybody of some people is on shift. */
  readonly hours: WeakMap<readonly number[], Open>
  /** Remembers who has some skills, by their names. */
  readonly able: Map<string, readonly number[]>
  /** Remembers spans in which a kind of work could not be begun even with nothing else planned, by what it asks for. */
  readonly gaps: { readonly bySign: Map<string, Gap[]>; readonly byTask: WeakMap<Task, Gap[]> }
}

export type Gap = readonly [fromMin: number, untilMin: number]

/** The problem by index: what the inner loops read. Nothing here changes once built. */
export interface Model extends House {
  readonly problem: Problem
  readonly tasks: readonly Task[]
  readonly taskOf: ReadonlyMap<string, number>
  readonly links: readonly ModelLink[]
  /** Links in which the task is `prev`, and in which it is `next`. */
  readonly outOf: readonly (readonly number[])[]
  readonly into: readonly (readonly number[])[]
  /** Weakly connected part of the network a task belongs to, and the members of each part. */
  readonly partOf: Int32Array
  readonly parts: readonly (readonly number[])[]
  readonly holds: readonly ModelHold[]
  readonly holdsFrom: readonly (readonly number[])[]
  readonly holdsTo: readonly (readonly number[])[]
  readonly previous: ReadonlyMap<string, Previous>
}

export type Previous = NonNullable<Problem['previous']>[number]

export interface ModelLink {
  readonly link: Link
  readonly prev: number
  readonly next: number
  readonly fromEnd: boolean
  readonly minLagMin: number
  readonly maxLagMin: number
  readonly working: boolean
  readonly hard: boolean
}

export interface ModelPerson {
  readonly person: Person
  readonly open: Open
  readonly skills: ReadonlySet<string>
}

export interface ModelUnit {
  readonly unit: Unit
  readonly open?: Open
  readonly turnaroundMin: number
  /** One booking at a time; a larger unit is shared by amounts. */
  readonly single: boolean
}

export interface ModelHold {
  readonly hold: Hold
  readonly from: number
  readonly fromEnd: boolean
  readonly to: number
  readonly toEnd: boolean
  readonly candidates: readonly number[]
  readonly fixed?: readonly number[]
}

const EMPTY: Open = openOf([])

export function houseOf(problem: Pick<Problem, 'people' | 'units' | 'calendars' | 'days' | 'travel'>): House {
  const calendars = new Map(Object.entries(problem.calendars).map(([id, c]) => [id, openOf(c)]))
  const units = problem.units.map(
    (unit): ModelUnit => ({
      unit,
      open: unit.calendar === undefined ? undefined : (calendars.get(unit.calendar) ?? EMPTY),
      turnaroundMin: unit.turnaroundMin ?? 0,
      single: unit.capacity <= 1,
    }),
  )
  return {
    people: problem.people.map((person) => ({
      person,
      open: calendars.get(person.calendar) ?? EMPTY,
      skills: new Set(person.skills),
    })),
    personOf: new Map(problem.people.map((p, i) => [p.id, i])),
    units,
    unitOf: new Map(units.map((u, i) => [u.unit.id, i])),
    poolUnits: poolsOf(units),
    calendars,
    working: unionOf(problem.people.map((p) => problem.calendars[p.calendar] ?? [])),
    travel: travelOf(problem),
    days: daysOf(problem.days),
    hours: new WeakMap(),
    able: new Map(),
    gaps: { bySign: new Map(), byTask: new WeakMap() },
  }
}

/**
 * @param house the people, units and calendars where they are laid out already
 * @throws Error when a link or hold names a task that is not there, or a task a site: a bug in the caller
 */
export function modelOf(problem: Problem, house: House = houseOf(problem)): Model {
  const { tasks } = problem
  const taskOf = new Map(tasks.map((t, i) => [t.key, i]))
  const at = (key: string, by: string): number => {
    const i = taskOf.get(key)
    if (i === undefined) throw new Error(`${by} names task ${key}, which is not in the problem`)
    return i
  }
  const sites = problem.travel?.length ?? 1
  for (const { key, site } of tasks)
    if (site !== undefined && !(site >= 0 && site < sites))
      throw new Error(`task ${key} names site ${site}, which is not in the problem`)
  const links = problem.links.map((link): ModelLink => {
    const by = `link ${link.prev} -> ${link.next}`
    return {
      link,
      prev: at(link.prev, by),
      next: at(link.next, by),
      fromEnd: link.from === 'end',
      minLagMin: link.minLagMin,
      maxLagMin: link.maxLagMin ?? Infinity,
      working: link.clock === 'working',
      hard: link.strength === 'hard',
    }
  })
  const known = (ids: readonly string[]) => ids.flatMap((id) => house.unitOf.get(id) ?? [])
  const holds = problem.holds.map(
    (hold): ModelHold => ({
      hold,
      from: at(hold.from.task, `hold ${hold.key}`),
      fromEnd: hold.from.edge === 'end',
      to: at(hold.to.task, `hold ${hold.key}`),
      toEnd: hold.to.edge === 'end',
      candidates: known(hold.candidates),
      fixed: hold.units && known(hold.units),
    }),
  )
  const { partOf, parts } = partsOf(
    tasks.length,
    links.map((l) => [l.prev, l.next]),
  )
  return {
    ...house,
    problem,
    tasks,
    taskOf,
    links,
    outOf: listsBy(tasks.length, links, (l) => l.prev),
    into: listsBy(tasks.length, links, (l) => l.next),
    partOf,
    parts,
    holds,
    holdsFrom: listsBy(tasks.length, holds, (h) => h.from),
    holdsTo: listsBy(tasks.length, holds, (h) => h.to),
    previous: new Map((problem.previous ?? []).map((p) => [p.key, p])),
  }
}

function listsBy<T>(size: number, rows: readonly T[], of: (row: T) => number): number[][] {
  const lists: number[][] = Array.from({ length: size }, () => [])
  rows.forEach((row, k) => {
    lists[of(row)]!.push(k)
  })
  return lists
}

function poolsOf(units: readonly ModelUnit[]): Map<string, number[]> {
  const pools = new Map<string, number[]>()
  units.forEach((u, i) => {
    const list = pools.get(u.unit.pool)
    if (list) list.push(i)
    else pools.set(u.unit.pool, [i])
  })
  return pools
}

function partsOf(size: number, pairs: readonly (readonly [number, number])[]) {
  const root = Int32Array.from({ length: size }, (_, i) => i)
  const find = (i: number): number => {
    let at = i
    while (root[at] !== at) {
      root[at] = root[root[at]!]!
      at = root[at]!
    }
    return at
  }
  for (const [a, b] of pairs) root[find(a)] = find(b)
  const partOf = new Int32Array(size)
  const parts: number[][] = []
  const seen = new Map<number, number>()
  for (let i = 0; i < size; i++) {
    const r = find(i)
    let part = seen.get(r)
    if (part === undefined) {
      part = parts.length
      seen.set(r, part)
      parts.push([])
    }
    partOf[i] = part
    parts[part]!.push(i)
  }
  return { partOf, parts }
}
