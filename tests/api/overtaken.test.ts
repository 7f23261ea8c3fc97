import { expect, it } from 'vitest'
import type { Order } from '../../api/order.ts'
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

it('a plan of older facts is given up once newer ones are told, and made of both', async () => {
  const { db, cellarId, as } = await makeApp()
  const nowAt = Temporal.Instant.from(NOW)
  const here = plannerHere()
  const orders: Order[] = []
  const givenUp: unknown[] = []
  const slow: Planner = {
    away: true,
    close: async () => {},
    plan: (id, order, { signal } = {}) => {
      orders.push(order)
      if (orders.length > 1) return here.plan(id, order)
      // It would never be there: it ends by being given up or not at all.
      return new Promise((_, reject) => {
        signal?.addEventListener('abort', () => {
          givenUp.push(signal.reason)
          reject(signal.reason)
        })
      })
    },
  }
  const first = replan(db, cellarId, nowAt, undefined, slow)
  while (orders.length === 0) await new Promise((next) => setTimeout(next, 5))
  const read = { readings: [{ lot: 'L01', kind: 'density', value: 1088 }] }
  expect((await as('winemaker')('POST', '/api/readings', read)).status).toBe(201)
  await first
  expect(givenUp).toHaveLength(1)
  const values = (order: Order | undefined) => order?.facts.readings.map((r) => r.value)
  expect(values(orders[0])).not.toContain(1088)
  expect(values(orders[1])).toContain(1088)
})

it.each([
  ['vessels somebody chose, then a reading', { words: 'chosen', chosenFor: ['L04'] }, { words: 'read', asks: true }],
  ['a reading, then vessels somebody chose', { words: 'read', asks: true }, { words: 'chosen', chosenFor: ['L04'] }],
])('a plan made for both asks and looks for other vessels: %s', async (_, one, other) => {
  const { db, cellarId } = await makeApp()
  const nowAt = Temporal.Instant.from(NOW)
  const here = plannerHere()
  const orders: Order[] = []
  let second: Promise<unknown> = Promise.resolve()
  const slow: Planner = {
    away: true,
    close: async () => {},
    plan: async (id, order, { signal } = {}) => {
      orders.push(order)
      if (orders.length === 1) second = replan(db, cellarId, nowAt, other, slow)
      signal?.throwIfAborted()
      return here.plan(id, order)
    },
  }
  await replan(db, cellarId, nowAt, one, slow)
  await second
  expect(orders[1]?.guard?.because).toMatchObject({ asks: true, chosenFor: ['L04'] })
})

it('where facts come faster than a plan is made, one is made to its end all the same', async () => {
  const { db, cellarId } = await makeApp()
  const nowAt = Temporal.Instant.from(NOW)
  const here = plannerHere()
  let asked = 0
  let others: Promise<unknown> = Promise.resolve()
  const hurried: Planner = {
    away: true,
    close: async () => {},
    plan: async (id, order, { signal } = {}) => {
      asked++
      // Before each of the first ten plans is there, somebody tells something.
      if (asked <= 10) others = Promise.all([others, replan(db, cellarId, nowAt, undefined, hurried)])
      await new Promise((next) => setTimeout(next, 5))
      signal?.throwIfAborted()
      return here.plan(id, order)
    },
  }
  const { revision } = await replan(db, cellarId, nowAt, undefined, hurried)
  expect(revision).toBeGreaterThan(0)
  // Three are given up for newer facts, the fourth is made.
  expect(asked).toBe(4)
  await others
})
