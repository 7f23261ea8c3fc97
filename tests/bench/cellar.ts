/**
 * Plans invented cellars of growing size and re-plans them after one ferment has slipped by a day.
 *
 *   node --import tsx tests/bench/cellar.ts [--lots 12,50,200,500] [--slips 10] [--seed 1] [--json]
 */
import { schedule } from '../../api/schedule/schedule.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { chanceOf } from '../helpers/chance.ts'

const DAY = 1440
const args = process.argv.slice(2)
const option = (name: string, otherwise: string) => {
  const at = args.indexOf(`--${name}`)
  return at < 0 ? otherwise : (args[at + 1] ?? otherwise)
}
const seed = Number(option('seed', '1'))
const slips = Number(option('slips', '10'))
const sizes = option('lots', '12,50,200,500').split(',').map(Number)

schedule(cellarOf(sizeFor(6), 99))
const rows = sizes.map(measure)
if (args.includes('--json')) console.log(JSON.stringify(rows, null, 1))
else console.table(rows)

function measure(lots: number) {
  const problem = cellarOf(sizeFor(lots), seed)
  const first = timed(() => schedule(problem))
  const chance = chanceOf(seed)
  const nowMin = 20 * DAY
  const begun = asOf(problem, first.value, nowMin)
  const settled = schedule(begun)
  const known = { ...begun, previous: previousOf(settled) }
  const same = timed(() => schedule(known))
  const times: number[] = []
  const otherShares: number[] = []
  let movedToday = 0
  for (let k = 0; k < slips; k++) {
    const running = known.tasks.filter((t) => t.key.endsWith('/ferment') && t.started)
    if (running.length === 0) break
    const late = chance.pick(running)
    const tasks = known.tasks.map((t) => (t === late ? { ...t, elapsedMin: t.elapsedMin + DAY } : t))
    const next = timed(() => schedule({ ...known, tasks }))
    times.push(next.cpuMs)
    const others = settled.placed.filter((p) => !p.key.startsWith(`${late.group}/`))
    const moved = movedFrom(settled, next.value).filter((key) => !key.startsWith(`${late.group}/`))
    otherShares.push(moved.length / others.length)
    const today = new Set(settled.placed.filter((p) => p.startMin < nowMin + DAY).map((p) => p.key))
    movedToday += moved.filter((key) => today.has(key)).length
  }
  times.sort((a, b) => a - b)
  const at = (share: number) => Math.round(times[Math.min(times.length - 1, Math.floor(share * times.length))] ?? 0)
  return {
    lots,
    tasks: problem.tasks.length,
    firstCpuMs: Math.round(first.cpuMs),
    brokenHard: first.value.broken.filter((b) => b.strength === 'hard').length,
    brokenSoft: first.value.broken.filter((b) => b.strength === 'soft').length,
    noChangeMoved: movedFrom(settled, same.value).length,
    noChangeCpuMs: Math.round(same.cpuMs),
    slipP50Ms: at(0.5),
    slipP95Ms: at(0.95),
    otherLotsMovedPct: Number(
      (100 * (otherShares.reduce((a, b) => a + b, 0) / Math.max(1, otherShares.length))).toFixed(3),
    ),
    othersOfTodayMoved: movedToday,
    heapMb: Math.round(process.memoryUsage().rss / 1e6),
  }
}

function timed<T>(work: () => T): { readonly value: T; readonly cpuMs: number } {
  const before = process.cpuUsage()
  const value = work()
  const cpu = process.cpuUsage(before)
  return { value, cpuMs: (cpu.user + cpu.system) / 1000 }
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
