import type { Link, Problem, Task, Unit } from '../../api/schedule/types.ts'

/**
 * Adapters from public instance formats to the planner's own problem. One time unit of the instance is a minute.
 * A task that needs several resources has one use each; a lag between starts is a link from start to start.
 */
const NUMBERS = (line: string) => line.trim().split(/\s+/).map(Number)

/** PSPLIB single-mode `.sm` (Kolisch and Sprecher 1997). */
export function readSm(text: string, seed: number, moves: number): Problem {
  const lines = text.split(/\r?\n/)
  const after = (title: string) => lines.findIndex((l) => l.startsWith(title))
  const size = Number(/jobs \(incl\. supersource\/sink \):\s*(\d+)/.exec(text)?.[1])
  const capacities = NUMBERS(lines[after('RESOURCEAVAILABILITIES') + 2] ?? '')
  const links: Link[] = []
  const tasks: Task[] = []
  for (let i = 0; i < size; i++) {
    const [job, , , ...next] = NUMBERS(lines[after('PRECEDENCE RELATIONS') + 2 + i] ?? '')
    const [, , lengthMin, ...needs] = NUMBERS(lines[after('REQUESTS/DURATIONS') + 3 + i] ?? '')
    tasks.push(taskOf(`j${job}`, lengthMin ?? 0, needs))
    for (const n of next) links.push({ prev: `j${job}`, next: `j${n}`, from: 'end', minLagMin: 0, strength: 'hard' })
  }
  return problemOf(tasks, links, capacities, seed, moves)
}

/** RCPSP/max `.sch`: lags between starts, negative ones being upper bounds the other way. */
export function readSch(text: string, seed: number, moves: number): Problem {
  const rows = text
    .trim()
    .split(/\r?\n/)
    .map((l) => l.trim().split(/\s+/))
  const size = Number(rows[0]?.[0]) + 2
  const links: Link[] = []
  const tasks: Task[] = []
  for (let i = 0; i < size; i++) {
    const row = rows[1 + i] ?? []
    const count = Number(row[2])
    for (let k = 0; k < count; k++) {
      const other = Number(row[3 + k])
      const lag = Number((row[3 + count + k] ?? '').replace(/[[\]]/g, ''))
      links.push(
        lag >= 0
          ? { prev: `j${i}`, next: `j${other}`, from: 'start', minLagMin: lag, strength: 'hard' }
          : {
              prev: `j${other}`,
              next: `j${i}`,
              from: 'start',
              minLagMin: -Infinity,
              maxLagMin: -lag,
              strength: 'hard',
            },
      )
    }
    const [, , lengthMin, ...needs] = (rows[1 + size + i] ?? []).map(Number)
    tasks.push(taskOf(`j${i}`, lengthMin ?? 0, needs))
  }
  return problemOf(tasks, links, (rows[1 + 2 * size] ?? []).map(Number), seed, moves)
}

function taskOf(key: string, lengthMin: number, needs: readonly number[]): Task {
  return {
    key,
    group: key,
    elapsedMin: lengthMin,
    crewMin: 0,
    crew: 0,
    skills: [],
    uses: needs.flatMap((amount, r) => (amount > 0 ? [{ pool: `R${r}`, amount }] : [])),
    interruptible: false,
    bias: 'early',
  }
}

function problemOf(
  tasks: readonly Task[],
  links: readonly Link[],
  capacities: readonly number[],
  seed: number,
  moves: number,
): Problem {
  const units = capacities.map((capacity, r): Unit => ({ id: `R${r}`, pool: `R${r}`, capacity }))
  return { nowMin: 0, horizonMin: 1e9, tasks, links, holds: [], people: [], units, calendars: {}, seed, moves }
}
