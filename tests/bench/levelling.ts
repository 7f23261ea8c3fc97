/**
 * Runs the planner over a folder of public instances and prints what it reached.
 *
 *   npm run bench:levelling -- DIR [--schedules 5000] [--seed 1] [--json]
 *
 * DIR is searched for `.sm` and `.sch` files; files in one folder are a set. Progress goes to stderr.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { judge } from '../schedule/checker.ts'
import { readSch, readSm } from './readers.ts'

interface Row {
  readonly set: string
  readonly instance: string
  /** Length of the plan; absent when none that keeps every limit was found. */
  readonly makespan?: number
  readonly longestWay: number
  readonly schedulesUsed: number
  readonly cpuMs: number
  /** Violations found by the independent checker in a plan that claims none. */
  readonly faults: number
}

const args = process.argv.slice(2)
const option = (name: string, otherwise: number) => {
  const at = args.indexOf(`--${name}`)
  return at < 0 ? otherwise : Number(args[at + 1])
}
const dir = args.find((a, k) => !a.startsWith('--') && !['--schedules', '--seed'].includes(args[k - 1] ?? ''))
if (dir === undefined) throw new Error('expected a folder with .sm or .sch files: npm run bench:levelling -- DIR')
const seed = option('seed', 1)
const moves = option('schedules', 5_000)

const files = readdirSync(dir, { recursive: true, encoding: 'utf8' })
  .filter((f) => /\.(sm|sch)$/i.test(f))
  .sort()
const rows = files.map((f, k) => {
  const row = run(join(dir, f))
  console.error(k + 1, '/', files.length, f, row.makespan ?? 'none', `${row.cpuMs} ms`)
  return row
})
const sets = [...new Set(rows.map((r) => r.set))].map((set) =>
  meansOf(
    set,
    rows.filter((r) => r.set === set),
  ),
)
if (args.includes('--json')) console.log(JSON.stringify({ seed, schedules: moves, instances: rows, sets }, null, 1))
else {
  for (const r of rows)
    console.log(r.set, r.instance, r.makespan ?? 'none', r.schedulesUsed, `${r.cpuMs.toFixed(0)} ms`)
  console.table(sets)
}

function run(file: string): Row {
  const text = readFileSync(file, 'utf8')
  const problem = /\.sm$/i.test(file) ? readSm(text, seed, moves) : readSch(text, seed, moves)
  const before = process.cpuUsage()
  const plan = schedule(problem)
  const cpu = process.cpuUsage(before)
  const clean = plan.broken.length === 0
  return {
    set: basename(dirname(file)),
    instance: basename(file),
    makespan: clean ? lastEnd(plan) : undefined,
    longestWay: longestWay(problem),
    schedulesUsed: plan.schedulesUsed,
    cpuMs: Math.round((cpu.user + cpu.system) / 100) / 10,
    faults: clean ? faultsOf(problem, plan) : 0,
  }
}

function lastEnd(plan: Plan): number {
  return plan.placed.reduce((last, p) => Math.max(last, p.endMin), 0)
}

function faultsOf(problem: Problem, plan: Plan): number {
  const { violated, absurd } = judge(problem, plan)
  return violated.length + absurd.length
}

/** Length by lags alone, relaxed until nothing moves: the usual yardstick where no optimum is known. */
function longestWay(problem: Problem): number {
  const start = new Map(problem.tasks.map((t) => [t.key, 0]))
  const length = new Map(problem.tasks.map((t) => [t.key, t.elapsedMin]))
  for (let round = 0; round <= problem.tasks.length; round++) {
    let moved = false
    const raise = (key: string, to: number) => {
      if (to > start.get(key)!) {
        start.set(key, to)
        moved = true
      }
    }
    for (const l of problem.links) {
      const edge = start.get(l.prev)! + (l.from === 'end' ? length.get(l.prev)! : 0)
      raise(l.next, edge + l.minLagMin)
      if (l.maxLagMin !== undefined)
        raise(l.prev, start.get(l.next)! - l.maxLagMin - (l.from === 'end' ? length.get(l.prev)! : 0))
    }
    if (!moved) break
  }
  return problem.tasks.reduce((last, t) => Math.max(last, start.get(t.key)! + t.elapsedMin), 0)
}

function meansOf(set: string, list: readonly Row[]) {
  const found = list.filter((r) => r.makespan !== undefined)
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / Math.max(1, values.length)
  const round = (x: number, digits: number) => Number(x.toFixed(digits))
  return {
    set,
    instances: list.length,
    found: found.length,
    meanMakespan: round(mean(found.map((r) => r.makespan ?? 0)), 3),
    meanPctAboveLongestWay: round(
      mean(found.map((r) => (100 * ((r.makespan ?? 0) - r.longestWay)) / Math.max(1, r.longestWay))),
      3,
    ),
    meanCpuMs: round(mean(list.map((r) => r.cpuMs)), 1),
    meanSchedulesUsed: round(mean(list.map((r) => r.schedulesUsed)), 0),
    faults: list.reduce((sum, r) => sum + r.faults, 0),
  }
}
