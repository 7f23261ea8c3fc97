import type { Calendar, Hold, Link, Person, Problem, Task, Unit } from '../../api/schedule/types.ts'
import { type Chance, chanceOf } from '../helpers/chance.ts'

const DAY = 1440

/** A small random cellar in which everything the planner knows can happen, clashes and nonsense included. */
export function randomCellar(seed: number): Problem {
  const chance = chanceOf(seed)
  const days = chance.whole(6, 20)
  const nowMin = chance.maybe(0.5) ? chance.whole(0, 2 * DAY) : 0
  const calendars: Record<string, Calendar> = { day: spans(chance, days, 8), rare: spans(chance, days, 2) }
  const people: Person[] = many(chance.whole(0, 4), (p) => {
    calendars[`c${p}`] = spans(chance, days, 9)
    return { id: `p${p}`, skills: ['a', 'b', 'c'].filter(() => chance.maybe(0.55)), calendar: `c${p}` }
  })
  const units: Unit[] = [
    ...many(chance.whole(1, 2), (k): Unit => ({ id: `press${k}`, pool: 'press', capacity: 1, turnaroundMin: 30 })),
    ...many(
      chance.whole(1, 3),
      (k): Unit => ({
        id: `T${k}`,
        pool: 'tank',
        capacity: 1,
        booked: chance.maybe(0.3) ? [{ fromMin: 0, toMin: chance.whole(1, 3) * DAY, why: 'taken' }] : [],
      }),
    ),
    { id: 'cold', pool: 'cold', capacity: 10.5, calendar: chance.maybe(0.1) ? 'day' : undefined },
  ]
  const tasks: Task[] = []
  const links: Link[] = []
  const holds: Hold[] = []
  for (let n = chance.whole(1, 4); n > 0; n--) {
    const lot = `L${n}`
    const keys: string[] = []
    for (let k = chance.whole(2, 7); k > 0; k--) {
      const task = randomTask(chance, `${lot}/s${k}`, lot, nowMin, days, people, units)
      for (const prev of keys.slice(-2)) if (chance.maybe(0.7)) links.push(randomLink(chance, prev, task.key))
      keys.push(task.key)
      tasks.push(task)
    }
    for (const key of ['x', 'y'])
      if (chance.maybe(0.6)) {
        const a = chance.whole(0, keys.length - 2)
        const b = chance.whole(a + 1, keys.length - 1)
        holds.push({
          key: `${lot}/in/${key}`,
          group: lot,
          from: { task: keys[a]!, edge: chance.pick(['start', 'end']) },
          to: { task: keys[b]!, edge: chance.pick(['start', 'end']) },
          candidates: units.filter((u) => u.pool === 'tank' && chance.maybe(0.8)).map((u) => u.id),
          count: chance.maybe(0.85) ? 1 : 2,
          cleanMin: chance.pick([0, 40]),
          units: chance.maybe(0.1) ? ['T0'] : undefined,
        })
      }
  }
  const cellar = { nowMin, horizonMin: days * DAY, tasks, links, holds, people, units, calendars, seed, moves: 1 }
  const stored = seed % 3 === 0 ? cellar : withRooms(cellar, chanceOf(seed + 2_000_000))
  const told = seed % 2 === 0 ? stored : withSites(stored, chanceOf(seed + 1_000_000))
  return seed % 5 < 2 ? withDays(told, chanceOf(seed + 3_000_000)) : told
}

/** Two cold rooms, or one, and fruit that lies in them from an edge of one task to an edge of another. */
function withRooms(cellar: Problem, chance: Chance): Problem {
  const rooms = many(
    chance.whole(1, 2),
    (k): Unit => ({ id: `R${k}`, pool: 'room', capacity: chance.pick([0.8, 4.5, 8]) }),
  )
  const lots = [...new Set(cellar.tasks.map((t) => t.group))]
  const holds = lots.flatMap((group): Hold[] => {
    const keys = cellar.tasks.filter((t) => t.group === group).map((t) => t.key)
    if (!chance.maybe(0.8)) return []
    const a = chance.whole(0, keys.length - 2)
    return [
      {
        key: `${group}/room`,
        group,
        from: { task: keys[a]!, edge: chance.pick(['start', 'end']) },
        to: { task: keys[chance.whole(a + 1, keys.length - 1)]!, edge: chance.pick(['start', 'end']) },
        candidates: rooms.map((r) => r.id),
        count: 1,
        amount: chance.pick([0.7, 2.5, 4, 6.1, 11]),
        cleanMin: 0,
      },
    ]
  })
  return { ...cellar, units: [...cellar.units, ...rooms], holds: [...cellar.holds, ...holds] }
}

/** Some of the work planned to the day; a clock that is set forward and back makes days of 23 and of 25 hours. */
function withDays(cellar: Problem, chance: Chance): Problem {
  const share = chance.pick([0.2, 0.6, 1])
  const first = chance.whole(-20, 0) * 60
  let midnight = first
  const lengths = many(Math.ceil(cellar.horizonMin / DAY) + 2, () => chance.pick([1440, 1440, 1440, 1380, 1500]))
  const days = lengths.map((length) => {
    midnight += length
    return midnight - length
  })
  return {
    ...cellar,
    ...(chance.maybe(0.6) ? { days } : {}),
    tasks: cellar.tasks.map((t) => (chance.maybe(share) ? { ...t, byDay: true as const } : t)),
  }
}

/** The same work spread over two or three sites; a way round may be shorter, and the way back longer than the way there. */
function withSites(cellar: Problem, chance: Chance): Problem {
  const sites = chance.whole(2, 3)
  const travel = many(sites, (a) => many(sites, (b) => (a === b ? 0 : chance.pick([0, 10, 25, 60, 180]))))
  const site = () => (chance.maybe(0.8) ? chance.whole(0, sites - 1) : undefined)
  return { ...cellar, travel, tasks: cellar.tasks.map((t) => ({ ...t, site: site() })) }
}

function randomTask(
  chance: Chance,
  key: string,
  group: string,
  nowMin: number,
  days: number,
  people: readonly Person[],
  units: readonly Unit[],
): Task {
  const elapsedMin = chance.maybe(0.15) ? 0 : chance.maybe(0.2) ? chance.whole(10, 40) * 60 : chance.whole(1, 20) * 15
  const crew = chance.maybe(0.7) ? chance.whole(1, 2) : 0
  const task: Task = {
    key,
    group,
    elapsedMin,
    crewMin: crew === 0 ? 0 : chance.whole(0, 16) * 15,
    crew,
    skills: ['a', 'b', 'c'].filter(() => chance.maybe(0.2)),
    prefer: chance.maybe(0.2) ? ['p1', 'p0'] : undefined,
    uses: [
      ...(chance.maybe(0.3) ? [{ pool: 'press', amount: 1 }] : []),
      ...(chance.maybe(0.3) ? [{ pool: 'cold', amount: chance.pick([2.5, 4, 6.1]) }] : []),
      ...(chance.maybe(0.05) ? [{ pool: 'tank', amount: 1, units: ['T0'] }] : []),
      ...(chance.maybe(0.02) ? [{ pool: 'none', amount: 1 }] : []),
    ],
    startCalendar: chance.maybe(0.3) ? chance.pick(['day', 'day', 'rare']) : undefined,
    interruptible: chance.maybe(0.25),
    bias: chance.maybe(0.6) ? 'early' : chance.maybe(0.5) ? 'late' : { nearMin: chance.whole(0, days * DAY) },
    releaseMin: chance.maybe(0.2) ? chance.whole(0, 3 * DAY) : undefined,
    dueMin: chance.maybe(0.15) ? chance.whole(DAY, days * DAY) : undefined,
    dueStrength: chance.maybe(0.5) ? 'soft' : undefined,
    weight: chance.whole(0, 9),
  }
  const fate = chance.share()
  const crewIds = people.filter(() => chance.maybe(0.4)).map((p) => p.id)
  const unitIds = units
    .filter((u) => u.pool === 'press')
    .map((u) => u.id)
    .slice(0, 1)
  if (fate < 0.06 && nowMin > 0)
    return {
      ...task,
      done: {
        startMin: Math.floor(nowMin / 3),
        endMin: Math.floor(nowMin / 3) + chance.whole(0, Math.floor(nowMin / 2)),
        people: crewIds,
        units: unitIds,
      },
    }
  if (fate < 0.1 && nowMin > 0)
    return { ...task, started: { startMin: chance.whole(0, nowMin), people: crewIds, units: unitIds } }
  if (fate < 0.2)
    return {
      ...task,
      pin: {
        startMin: chance.maybe(0.7) ? chance.whole(nowMin - 100, days * DAY) : undefined,
        people: chance.maybe(0.3) ? crewIds : undefined,
        units: chance.maybe(0.3) ? unitIds : undefined,
      },
    }
  return task
}

function randomLink(chance: Chance, prev: string, next: string): Link {
  const minLagMin = chance.pick([0, 0, 15, 300, 1440])
  return {
    prev,
    next,
    from: chance.pick(['start', 'end']),
    minLagMin,
    maxLagMin: chance.maybe(0.5) ? minLagMin + chance.pick([0, 60, 600, 2880]) : undefined,
    clock: chance.maybe(0.2) ? 'working' : chance.maybe(0.5) ? 'elapsed' : undefined,
    strength: chance.maybe(0.75) ? 'hard' : 'soft',
  }
}

const many = <T>(n: number, make: (k: number) => T): T[] => Array.from({ length: n }, (_, k) => make(k))

/** Days with a start, a length and sometimes a break; some days off. */
function spans(chance: Chance, days: number, hours: number): Calendar {
  return many(days, (d) => d)
    .filter(() => chance.maybe(0.8))
    .flatMap((d): [number, number][] => {
      const from = d * DAY + chance.whole(6, 10) * 60
      const noon = from + Math.floor(hours / 2) * 60
      return chance.maybe(0.5)
        ? [[from, from + hours * 60]]
        : [
            [from, noon],
            [noon + 30, from + hours * 60],
          ]
    })
}
