import type { Problem } from '../../api/schedule/types.ts'

/**
 * Every way to start tiny tasks on a coarse grid, tried one by one: the shortest plan that keeps all hard rules, or
 * undefined when there is none. Knows only what the tiny problems have: lags on the elapsed clock, people by shift, units of one.
 */
export function shortest(problem: Problem, stepMin: number, untilMin: number): number | undefined {
  const starts = new Map<string, number>()
  let best: number | undefined
  const crews = new Map(problem.tasks.map((t) => [t.key, crewsOf(problem, t.key)]))
  const chosen = new Map<string, readonly string[]>()

  const visit = (k: number, lastMin: number) => {
    if (best !== undefined && lastMin >= best) return
    const task = problem.tasks[k]
    if (!task) {
      best = lastMin
      return
    }
    for (let at = 0; at + task.elapsedMin <= untilMin; at += stepMin) {
      starts.set(task.key, at)
      if (lagsHold(problem, starts) && unitsFree(problem, starts, k))
        for (const crew of crews.get(task.key) ?? []) {
          chosen.set(task.key, crew)
          if (peopleFree(problem, starts, chosen, k)) visit(k + 1, Math.max(lastMin, at + task.elapsedMin))
        }
      starts.delete(task.key)
      chosen.delete(task.key)
    }
  }
  visit(0, 0)
  return best
}

function crewsOf(problem: Problem, key: string): readonly (readonly string[])[] {
  const task = problem.tasks.find((t) => t.key === key)!
  if (task.crew === 0 || task.crewMin === 0) return [[]]
  const pick = (from: number, left: number): string[][] =>
    left === 0
      ? [[]]
      : problem.people.slice(from).flatMap((p, k) => pick(from + k + 1, left - 1).map((rest) => [p.id, ...rest]))
  return pick(0, task.crew).filter((crew) =>
    task.skills.every((s) => crew.some((id) => problem.people.find((p) => p.id === id)!.skills.includes(s))),
  )
}

function lagsHold(problem: Problem, starts: ReadonlyMap<string, number>): boolean {
  return problem.links.every((l) => {
    const prev = starts.get(l.prev)
    const next = starts.get(l.next)
    if (prev === undefined || next === undefined) return true
    const gap = next - prev - (l.from === 'end' ? problem.tasks.find((t) => t.key === l.prev)!.elapsedMin : 0)
    return gap >= l.minLagMin && gap <= (l.maxLagMin ?? Infinity)
  })
}

function unitsFree(problem: Problem, starts: ReadonlyMap<string, number>, k: number): boolean {
  const task = problem.tasks[k]!
  const at = starts.get(task.key)!
  return problem.tasks.slice(0, k).every((other) => {
    if (!other.uses.some((u) => task.uses.some((v) => v.pool === u.pool))) return true
    const from = starts.get(other.key)!
    return from + other.elapsedMin <= at || at + task.elapsedMin <= from
  })
}

function peopleFree(
  problem: Problem,
  starts: ReadonlyMap<string, number>,
  chosen: ReadonlyMap<string, readonly string[]>,
  k: number,
): boolean {
  const task = problem.tasks[k]!
  const at = starts.get(task.key)!
  const crew = chosen.get(task.key)!
  const onShift = crew.every((id) =>
    problem.calendars[problem.people.find((p) => p.id === id)!.calendar]!.some(
      ([a, b]) => a <= at && at + task.crewMin <= b,
    ),
  )
  return (
    onShift &&
    problem.tasks.slice(0, k).every((other) => {
      const from = starts.get(other.key)!
      const apart = from + other.crewMin <= at || at + task.crewMin <= from
      return apart || !chosen.get(other.key)!.some((id) => crew.includes(id))
    })
  )
}
