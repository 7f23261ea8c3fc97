/**
 * Plans random cellars in which all that the planner knows can happen, lets a while go by, plans again from the known
 * plan, and asks the independent checker of each plan whether it keeps the facts and reports just what it violates.
 *
 *   npm run bench:random-cellars -- [--cellars 2000] [--seed 0]
 *
 * Prints the seeds of the rejected and ends with 1 where there is one.
 */
import { schedule } from '../../api/schedule/schedule.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { judge, reported } from '../schedule/checker.ts'
import { randomCellar } from '../schedule/random.ts'

const args = process.argv.slice(2)
const option = (name: string, otherwise: number) => {
  const at = args.indexOf(`--${name}`)
  return at < 0 ? otherwise : Number(args[at + 1])
}
const from = option('seed', 0)
const cellars = option('cellars', 2_000)

let accepted = 0
const rejected: string[] = []
for (let seed = from; seed < from + cellars; seed++) {
  const first = randomCellar(seed)
  const plan = schedule(first)
  const again: Problem = { ...first, nowMin: first.nowMin + 90, previous: knownBy(plan) }
  for (const [what, problem, made] of [
    ['first plan', first, plan],
    ['plan an hour and a half later', again, schedule(again)],
  ] as const) {
    const fault = faultOf(problem, made)
    if (fault === undefined) accepted++
    else rejected.push(`seed ${seed}, ${what}: ${fault}`)
  }
}
const { user, system } = process.cpuUsage()
console.log(
  `${cellars} cellars, ${accepted} plans accepted, ${rejected.length} rejected, ${Math.round((user + system) / 1e6)} s CPU`,
)
for (const line of rejected) console.log(line)
process.exit(rejected.length > 0 ? 1 : 0)

function faultOf(problem: Problem, plan: Plan): string | undefined {
  const { violated, absurd } = judge(problem, plan)
  const told = reported(plan)
  const silent = violated.filter((v) => !told.includes(v))
  const untrue = told.filter((v) => !violated.includes(v))
  if (absurd.length + silent.length + untrue.length === 0) return undefined
  return [...absurd, ...silent.map((v) => `not told: ${v}`), ...untrue.map((v) => `told, not so: ${v}`)].join('; ')
}

function knownBy(plan: Plan): NonNullable<Problem['previous']> {
  return [
    ...plan.placed.map(({ key, startMin, people, units }) => ({ key, startMin, people, units })),
    ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
  ]
}
