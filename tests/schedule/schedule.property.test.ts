import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import { judge, reported } from './checker.ts'
import { randomCellar } from './random.ts'

/** A first part of them; `npm run bench:random-cellars` goes through 2,000. */
const CELLARS = 500
const BATCH = 125

describe('any cellar', () => {
  for (let from = 0; from < CELLARS; from += BATCH)
    it(`seeds ${from} to ${from + BATCH - 1}: facts stand, and what is violated is reported, no more and no less`, () => {
      for (let seed = from; seed < from + BATCH; seed++) {
        const problem = randomCellar(seed)
        const plan = schedule(problem)
        const { violated, absurd } = judge(problem, plan)
        expect(absurd, `seed ${seed}`).toEqual([])
        expect(reported(plan), `seed ${seed}`).toEqual(violated)
      }
    })
})
