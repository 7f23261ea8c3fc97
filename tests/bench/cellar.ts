/**
 * Plans invented cellars of growing size, keeps each plan ready, and re-plans it after readings: one ferment is seen to
 * end a day later than thought.
 *
 *   npm run bench:cellar -- [--lots 50,100,200,500] [--slips 40] [--seed 1] [--json]
 *
 * What one reading's re-plan is here: the lot's work with its new times goes in, the whole cellar's new plan comes out
 * with causes and broken rules. No database, no network of choices (`bench:planner` adds these). Each slip
 * starts from the settled plan: the change before is taken back in between, and the way back is timed too, apart.
 */
import { groupsOf } from '../../api/schedule/bundles.ts'
import { type Kept, schedule, scheduleNext } from '../../api/schedule/schedule.ts'
import { openSession } from '../../api/schedule/session.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { type Chance, chanceOf } from '../helpers/chance.ts'
import { judge, reported } from '../schedule/checker.ts'

const DAY = 1440
const args = process.argv.slice(2)
const option = (name: string, otherwise: string) => {
  const at = args.indexOf(`--${name}`)
  return at < 0 ? otherwise : (args[at + 1] ?? otherwise)
}
const seed = Number(option('seed', '1'))
const slips = Number(option('slips', '40'))
const sizes = option('lots', '50,100,200,500').split(',').map(Number)

// Warms the compiler, so that the first size is not charged for it.
measure(20)
const rows = sizes.map(measure)
const first = rows[0]!
const last = rows.at(-1)!
const growth = (of: (row: (typeof rows)[number]) => number) =>
  Number((Math.log(of(last) / of(first)) / Math.log(last.lots / first.lots)).toFixed(2))
const exponents = { slipP50: growth((r) => r.slipP50Ms), slipP95: growth((r) => r.slipP95Ms) }
if (args.includes('--json')) console.log(JSON.stringify({ seed, slips, rows, exponents }, null, 1))
else {
  console.table(rows)
  console.log('growth as a power of the number of lots, first size to last:', exponents)
}

function measure(lots: number) {
  const problem = cellarOf(sizeFor(lots), seed)
  const made = timed(() => schedule(problem))
  const firstRssMb = rssMb()
  const chance = chanceOf(seed)
  const nowMin = 20 * DAY
  const begun = asOf(problem, made.value, nowMin)
  const opened = timed(() => openSession(begun))
  const session = opened.value
  const settled = session.plan()
  const same = timed(() => session.change({ nowMin }))
  const stayed = movedFrom(settled, session.plan()).length
  const today = new Set(settled.placed.filter((p) => p.startMin < nowMin + DAY).map((p) => p.key))
  const times: number[] = []
  const backs: number[] = []
  const otherShares: number[] = []
  let movedToday = 0
  let faults = 0
  let breaks = 0
  const running = begun.tasks.filter((t) => t.key.endsWith('/ferment') && t.started)
  for (let k = 0; k < slips && running.length > 0; k++) {
    const late = chance.pick(running)
    const group = groupsOf({
      tasks: begun.tasks.filter((t) => t.group === late.group),
      links: begun.links.filter((l) => l.next.startsWith(`${late.group}/`)),
      holds: begun.holds.filter((h) => h.group === late.group),
    })[0]!
    const tasks = group.tasks.map((t) => (t === late ? { ...t, elapsedMin: t.elapsedMin + DAY } : t))
    const before = session.plan()
    const next = timed(() => session.change({ groups: [{ ...group, tasks }] }))
    times.push(next.cpuMs)
    const after = session.plan()
    const own = (key: string) => key.startsWith(`${late.group}/`)
    const moved = movedFrom(before, after).filter((key) => !own(key))
    otherShares.push(moved.length / before.placed.filter((p) => !own(p.key)).length)
    movedToday += moved.filter((key) => today.has(key)).length
    breaks += hardOf(after) - hardOf(before)
    if (k % 10 === 0 && args.includes('--check'))
      faults += faultsOf(
        { ...begun, tasks: begun.tasks.map((t) => (t === late ? tasks.find((x) => x.key === t.key)! : t)) },
        after,
      )
    backs.push(timed(() => session.change({ groups: [group] })).cpuMs)
  }
  const wholes = wholeTimes(begun, running, chance)
  const at = (list: readonly number[], share: number) => {
    const sorted = [...list].sort((a, b) => a - b)
    return Number((sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0).toFixed(1))
  }
  const mean = otherShares.reduce((a, b) => a + b, 0) / Math.max(1, otherShares.length)
  return {
    lots,
    tasks: problem.tasks.length,
    firstCpuMs: Math.round(made.cpuMs),
    brokenHard: hardOf(made.value),
    openCpuMs: Math.round(opened.cpuMs),
    noChangeMoved: stayed,
    noChangeCpuMs: Number(same.cpuMs.toFixed(1)),
    slipP50Ms: at(times, 0.5),
    slipP95Ms: at(times, 0.95),
    backP50Ms: at(backs, 0.5),
    wholeP50Ms: at(wholes, 0.5),
    wholeP95Ms: at(wholes, 0.95),
    otherLotsMovedPct: Number((100 * mean).toFixed(3)),
    mostMovedPct: Number((100 * Math.max(0, ...otherShares)).toFixed(3)),
    othersOfTodayMoved: movedToday,
    newlyBroken: breaks,
    faults,
    firstRssMb,
    rssMb: rssMb(),
  }
}

/**
 * The way the server goes: the whole cellar's work is built anew and handed over, with the plan people know, twenty
 * minutes later each time; what comes back is the whole plan with causes.
 */
function wholeTimes(begun: Problem, running: readonly Problem['tasks'][number][], chance: Chance): readonly number[] {
  const kept: Kept = {}
  let asked = begun
  let plan = scheduleNext(kept, asked)
  const times: number[] = []
  for (let k = 0; k <= Math.min(10, slips) && running.length > 0; k++) {
    const late = chance.pick(running)
    const tasks = asked.tasks.map((t) => (t.key === late.key ? { ...t, elapsedMin: t.elapsedMin + DAY } : t))
    // Not one object is the one from before, as in the server.
    asked = structuredClone({ ...asked, tasks, nowMin: asked.nowMin + 20, previous: previousOf(plan) })
    const next = timed(() => scheduleNext(kept, asked))
    // The first takes over what was placed while the session was opened.
    if (k > 0) times.push(next.cpuMs)
    plan = next.value
  }
  return times
}

function rssMb(): number {
  return Math.round(process.memoryUsage().rss / 1e6)
}

function timed<T>(work: () => T): { readonly value: T; readonly cpuMs: number } {
  const before = process.cpuUsage()
  const value = work()
  const cpu = process.cpuUsage(before)
  return { value, cpuMs: (cpu.user + cpu.system) / 1000 }
}

function hardOf(plan: Plan): number {
  return plan.broken.filter((b) => b.strength === 'hard').length
}

/** What the independent checker holds against a plan beyond what the plan itself reports. */
function faultsOf(problem: Problem, plan: Plan): number {
  const { violated, absurd } = judge(problem, plan)
  const told = new Set(reported(plan))
  return absurd.length + violated.filter((v) => !told.has(v)).length
}

/** The same cellar later: what has ended by now is done, what runs has started. */
function asOf(problem: Problem, plan: Plan, nowMin: number): Problem {
  const tasks = problem.tasks.map((t, i) => {
    const { startMin, endMin, people, units } = plan.placed[i]!
    if (endMin <= nowMin) return { ...t, done: { startMin, endMin, people, units } }
    return startMin < nowMin ? { ...t, started: { startMin, people, units } } : t
  })
  const begun = new Set(tasks.filter((t) => t.done || t.started).map((t) => t.key))
  const holds = problem.holds.map((h, k) => (begun.has(h.from.task) ? { ...h, units: plan.holds[k]!.units } : h))
  return { ...problem, nowMin, tasks, holds, previous: previousOf(plan) }
}

function previousOf(plan: Plan): NonNullable<Problem['previous']> {
  return [
    ...plan.placed.map(({ key, startMin, people, units }) => ({ key, startMin, people, units })),
    ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
  ]
}

function movedFrom(before: Plan, after: Plan): string[] {
  const old = new Map(before.placed.map((p) => [p.key, p]))
  return after.placed
    .filter((p) => {
      const was = old.get(p.key)
      return (
        was &&
        (was.startMin !== p.startMin || was.people.join() !== p.people.join() || was.units.join() !== p.units.join())
      )
    })
    .map((p) => p.key)
}
