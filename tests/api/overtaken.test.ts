import { expect, it } from 'vitest'
import { type Planner, plannerHere } from '../../api/planning.ts'
import { replan } from '../../api/replan.ts'
import { Temporal } from '../../api/time.ts'
import { makeApp, NOW } from './make.ts'

it('a plan overtaken again and again is made under the lock without waiting for the planner of all', async () => {
  const { db, cellarId } = await makeApp()
  const nowAt = Temporal.Instant.from(NOW)
  const here = plannerHere()
  let asked = 0
  const crowded: Planner = {
    away: true,
    close: async () => {},
    plan: async (id, order) => {
      asked++
      // Others are before it and stay there: whoever waits for it with the lock held keeps all from planning.
      if (asked > 2) throw new Error('waited with the lock held')
      await replan(db, cellarId, nowAt.add({ minutes: asked }))
      return here.plan(id, order)
    },
  }
  const { revision } = await replan(db, cellarId, nowAt.add({ minutes: 5 }), undefined, crowded)
  expect(asked).toBe(2)
  const next = await replan(db, cellarId, nowAt.add({ minutes: 6 }))
  expect(next.revision).toBeGreaterThanOrEqual(revision)
})
