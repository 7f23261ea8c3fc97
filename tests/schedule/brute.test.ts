import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Link, Problem, Task } from '../../api/schedule/types.ts'
import { type Chance, chanceOf } from '../helpers/chance.ts'
import { shortest } from './brute.ts'
import { link, person, problem, task, unit } from './make.ts'

const STEP = 60
const UNTIL = 14 * STEP

/** Four tasks, two people with a break, one press: small enough to try everything. */
function tiny(seed: number): Problem {
  const chance = chanceOf(seed)
  const tasks: Task[] = [0, 1, 2, 3].map((k) => {
    const crew = chance.whole(0, 2)
    const hours = chance.whole(1, 3)
    return task(`L${k}/t`, {
      elapsedMin: hours * STEP,
      crewMin: crew === 0 ? 0 : chance.whole(1, hours) * STEP,
      crew,
      skills: crew > 0 && chance.maybe(0.3) ? ['press'] : [],
      uses: chance.maybe(0.5) ? [{ pool: 'press', amount: 1 }] : [],
    })
  })
  return problem({
    tasks,
    links: linksOf(chance, tasks),
    horizonMin: UNTIL,
    people: [person('ana', ['press'], 'early'), person('ben', [], 'day')],
    units: [unit('P', 'press')],
    calendars: {
      early: [
        [0, 4 * STEP],
        [5 * STEP, 12 * STEP],
      ],
      day: [[2 * STEP, UNTIL]],
    },
    seed,
    moves: 200,
  })
}

function linksOf(chance: Chance, tasks: readonly Task[]): Link[] {
  return [1, 2, 3].flatMap((k) => {
    if (chance.maybe(0.3)) return []
    const lag = chance.whole(0, 1) * STEP
    const max = chance.maybe(0.6) ? lag + chance.whole(0, 2) * STEP : undefined
    return [link(tasks[chance.whole(0, k - 1)]!.key, tasks[k]!.key, lag, max, { from: chance.pick(['start', 'end']) })]
  })
}

describe('tiny problems, against trying everything', () => {
  const CASES = 60
  let none = 0
  let solvable = 0
  let missed = 0
  let longer = 0
  for (let seed = 0; seed < CASES; seed++) {
    const asked = tiny(seed)
    const best = shortest(asked, STEP, UNTIL)
    const plan = schedule(asked)
    const clean = plan.broken.length === 0
    const end = plan.placed.reduce((last, p) => Math.max(last, p.endMin), 0)
    if (best === undefined) {
      none++
      it(`seed ${seed}: no plan exists, and none is claimed`, () => expect(clean).toBe(false))
    } else {
      solvable++
      if (!clean) missed++
      else if (end > best) longer++
      if (clean)
        it(`seed ${seed}: no plan is shorter than the shortest`, () => expect(end).toBeGreaterThanOrEqual(best))
    }
  }

  it('finds a plan in at least 19 of 20 problems that have one', () => {
    expect(solvable).toBeGreaterThan(25)
    expect(missed / solvable).toBeLessThanOrEqual(0.05)
  })

  it('and the shortest one in at least 3 of 4', () => {
    expect(longer / solvable).toBeLessThanOrEqual(0.25)
  })

  it('has problems of both sorts', () => expect(none).toBeGreaterThan(0))
})
