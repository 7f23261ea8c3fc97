import type { Calendar, Hold, Link, Person, Problem, Task, Unit } from '../../api/schedule/types.ts'
import { chanceOf } from './chance.ts'

export interface CellarSize {
  readonly lots: number
  readonly people: number
  readonly tanks: number
  readonly presses: number
  readonly days: number
  /** Fruit comes within this many days. */
  readonly harvestDays: number
}

const DAY = 1440
const HOUR = 60

/** People, presses and tanks grow with the lots; the vintage does not get longer. */
export const sizeFor = (lots: number): CellarSize => ({
  lots,
  people: Math.max(5, Math.min(40, Math.ceil(lots / 3) + 3)),
  tanks: Math.ceil(lots * 2) + 4,
  presses: Math.max(1, Math.ceil(lots / 14)),
  days: 180,
  harvestDays: 40,
})

/** An invented cellar mid-vintage: made by the seed, shaped like the trade. About 100 tasks a lot. */
export function cellarOf(size: CellarSize, seed: number): Problem {
  const chance = chanceOf(seed)
  const tasks: Task[] = []
  const links: Link[] = []
  const holds: Hold[] = []
  const calendars: Record<string, Calendar> = {
    fruit: daily(size.days, 6 * HOUR, 15 * HOUR),
    day: daily(size.days, 7 * HOUR, 17 * HOUR),
    morning: daily(size.days, 7 * HOUR, 10 * HOUR),
  }
  const people: Person[] = Array.from({ length: size.people }, (_, p) => {
    const calendar = `shift${p}`
    calendars[calendar] = shift(size.days, p, chance.whole(0, 6))
    const skills = [
      'cellar',
      ...(p % 2 === 0 ? ['pump'] : []),
      ...(p % 3 === 0 ? ['press'] : []),
      ...(p < 2 || p % 2 === 1 ? ['lab', 'wine'] : []),
    ]
    return { id: `p${p}`, skills, calendar }
  })
  const units: Unit[] = [
    ...count(size.presses, (k) => ({ id: `press${k}`, pool: 'press', capacity: 1, turnaroundMin: 45 })),
    ...count(Math.max(2, Math.ceil(size.lots / 8)), (k) => ({
      id: `pump${k}`,
      pool: 'pump',
      capacity: 1,
      turnaroundMin: 20,
    })),
    ...count(Math.max(1, Math.ceil(size.lots / 30)), (k) => ({
      id: `filter${k}`,
      pool: 'filter',
      capacity: 1,
      turnaroundMin: 60,
    })),
    ...count(size.tanks, (k) => ({ id: `T${k}`, pool: 'tank', capacity: 1 })),
    { id: 'chiller', pool: 'cold', capacity: Math.max(20, size.lots * 2.5) },
  ]
  const tanks = count(size.tanks, (k) => `T${k}`)

  for (let n = 0; n < size.lots; n++) {
    const lot = `L${n}`
    const pickMin = chance.whole(0, size.harvestDays - 1) * DAY + chance.whole(6, 14) * HOUR
    const add = (step: string, task: Partial<Task>): string => {
      const key = `${lot}/${step}`
      tasks.push({
        key,
        group: lot,
        elapsedMin: 30,
        crewMin: 30,
        crew: 1,
        skills: ['cellar'],
        uses: [],
        interruptible: false,
        bias: 'early',
        ...task,
      })
      return key
    }
    const link = (prev: string, next: string, minLagMin: number, maxLagMin?: number, more: Partial<Link> = {}) => {
      links.push({ prev, next, from: 'end', minLagMin, maxLagMin, strength: 'hard', ...more })
    }
    const reach = chance.whole(4, 10)
    const candidates = count(reach, () => chance.pick(tanks)).filter((id, k, all) => all.indexOf(id) === k)

    const weigh = add('weigh', {
      bias: { nearMin: pickMin },
      releaseMin: pickMin,
      startCalendar: 'fruit',
      crewMin: 20,
      elapsedMin: 20,
    })
    const sort = add('crush', { crewMin: 90, elapsedMin: 90, crew: 2 })
    link(weigh, sort, 5, 240, { from: 'start' })
    const pressMin = chance.whole(150, 240)
    const press = add('press', {
      elapsedMin: pressMin,
      crewMin: 40,
      skills: ['press'],
      uses: [{ pool: 'press', amount: 1 }],
    })
    link(sort, press, 15, 180, { from: 'start' })
    const settleMin = chance.whole(14, 24) * HOUR
    const settle = add('settle', { elapsedMin: settleMin, crew: 0, crewMin: 0, uses: [{ pool: 'cold', amount: 3 }] })
    link(press, settle, 0, 30)
    const rack = add('rack', { elapsedMin: 120, crewMin: 120, skills: ['pump'], uses: [{ pool: 'pump', amount: 1 }] })
    link(settle, rack, 0, 16 * HOUR)
    const yeast = add('rehydrate', { bias: 'late', elapsedMin: 30, crewMin: 30 })
    const pitch = add('inoculate', { elapsedMin: 20, crewMin: 20 })
    link(rack, pitch, 60, 48 * HOUR)
    link(yeast, pitch, 0, 60)
    const fermentDays = chance.whole(9, 18)
    const ferment = add('ferment', {
      elapsedMin: fermentDays * DAY,
      crew: 0,
      crewMin: 0,
      uses: [{ pool: 'cold', amount: 1.5 }],
    })
    link(pitch, ferment, 0, 0)
    let round = pitch
    for (let d = 1; d < fermentDays; d++) {
      const density = add(`density/${d}`, { elapsedMin: 10, crewMin: 10, startCalendar: 'day' })
      link(round, density, d === 1 ? 600 : 900, d === 1 ? 36 * HOUR : 34 * HOUR, { from: 'start', strength: 'soft' })
      round = density
    }
    const dry = add('dry', { elapsedMin: 0, crew: 0, crewMin: 0 })
    link(ferment, dry, 0, 0)
    const sulfur = add('so2', { elapsedMin: 30, crewMin: 30, skills: ['wine'], startCalendar: 'day' })
    link(dry, sulfur, 0, 72 * HOUR)
    const off = add('off-lees', {
      elapsedMin: 180,
      crewMin: 180,
      crew: 2,
      skills: ['pump'],
      uses: [{ pool: 'pump', amount: 1 }],
    })
    link(sulfur, off, 2 * DAY, 14 * DAY)
    let top = off
    const weeks = chance.whole(6, 12)
    for (let w = 1; w <= weeks; w++) {
      const topping = add(`top/${w}`, { elapsedMin: 25, crewMin: 25, startCalendar: 'day' })
      link(top, topping, 6 * DAY, 9 * DAY, { from: 'start' })
      const lab = add(`lab/${w}`, { elapsedMin: 20, crewMin: 20, skills: ['lab'], startCalendar: 'morning' })
      link(topping, lab, 0, 2 * DAY, { strength: 'soft', clock: 'working' })
      top = topping
    }
    const fine = add('fine', { elapsedMin: 60, crewMin: 60, skills: ['wine'] })
    link(top, fine, DAY)
    const clear = add('clear', { elapsedMin: 7 * DAY, crew: 0, crewMin: 0 })
    link(fine, clear, 0, 60)
    const filter = add('filter', {
      elapsedMin: 5 * HOUR,
      crewMin: 5 * HOUR,
      skills: ['pump'],
      interruptible: true,
      uses: [{ pool: 'filter', amount: 1 }],
    })
    link(clear, filter, 0, 10 * DAY)
    const ready = add('ready', { elapsedMin: 0, crew: 0, crewMin: 0, dueMin: size.days * DAY, dueStrength: 'soft' })
    link(filter, ready, 0)
    const hold = (step: string, from: string, fromEdge: 'start' | 'end', to: string, toEdge: 'start' | 'end') =>
      holds.push({
        key: `${lot}/in/${step}`,
        group: lot,
        from: { task: from, edge: fromEdge },
        to: { task: to, edge: toEdge },
        candidates,
        count: 1,
        cleanMin: 40,
      })
    hold('settling', press, 'start', rack, 'end')
    hold('ferment', rack, 'start', off, 'end')
    hold('storage', off, 'start', ready, 'end')
  }
  return { nowMin: 0, horizonMin: size.days * DAY, tasks, links, holds, people, units, calendars, seed, moves: 1 }
}

const count = <T>(n: number, make: (k: number) => T): T[] => Array.from({ length: n }, (_, k) => make(k))

/** Half-open spans, one a day. */
export const daily = (days: number, fromMin: number, toMin: number): Calendar =>
  count(days, (d) => [d * DAY + fromMin, d * DAY + toMin] as const)

/** Two shifts over the harvest, a day off a week, a break at noon. */
function shift(days: number, person: number, dayOff: number): Calendar {
  const start = person % 3 === 2 ? 12 * HOUR : 7 * HOUR
  return count(days, (d) => d)
    .filter((d) => d % 7 !== dayOff)
    .flatMap((d) => [
      [d * DAY + start, d * DAY + start + 5 * HOUR] as const,
      [d * DAY + start + 5.5 * HOUR, d * DAY + start + 10 * HOUR] as const,
    ])
}
