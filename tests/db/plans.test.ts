import { sql } from 'drizzle-orm'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import type { Phase } from '../../api/protocol/types.ts'
import { askRows } from '../../db/queries/ask.ts'
import { loadAllFacts, loadFacts } from '../../db/queries/facts.ts'
import { lockPlan } from '../../db/queries/locks.ts'
import { addLots } from '../../db/queries/lots.ts'
import { findPlan, findPlanRevision, listPhases, savePlan } from '../../db/queries/plans.ts'
import { recordReadings, recordTaskFacts } from '../../db/queries/records.ts'
import { findTasks, listTasks } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { KIND, ownDb, withDb } from '../helpers/db.ts'
import { MORNING, makePlan, makeTask } from '../helpers/tasks.ts'

const facts = demoFacts()
const cellarId = facts.cellar.id
const hour = (n: number) => MORNING.add({ hours: n })
const inCellar = <T>(test: (db: Db) => Promise<T>) =>
  withDb(async (db) => {
    await storeFacts(db, facts, { demo: true, at: MORNING })
    return test(db)
  })

const phase: Phase = {
  key: 'L01/ferment',
  lotId: 'L01',
  lotCode: 'L01',
  kind: 'ferment',
  vessels: ['T01'],
  volumeL: 5790,
  startAt: hour(0),
  endAt: hour(400),
  endSpread: { earliestAt: hour(350), latestAt: hour(480) },
  ratePerDay: [0, 4.5, 12.25],
  tempC: 13,
}
const plan = makePlan([makeTask('L01/rack-juice/1')], {
  phases: [
    phase,
    {
      ...phase,
      key: 'L02/ferment',
      lotId: 'L02',
      lotCode: 'L02',
      endSpread: undefined,
      startAt: hour(500),
      endAt: hour(900),
    },
  ],
  broken: [{ rule: 'after-due', strength: 'hard', taskKeys: ['L01/rack-juice/1'], words: 'Too late.' }],
  conflicts: [{ lotId: 'L08', id: 'K09', level: 'block', reason: 'r', wayOut: 'w', fields: ['endPoint'] }],
  forecasts: [
    {
      lotId: 'L01',
      dryAt: { earliestAt: hour(350), likelyAt: hour(400), latestAt: hour(480) },
      points: [{ at: hour(1), sugarGPerL: 210, lowGPerL: 208, highGPerL: 212, tempC: 13 }],
    },
  ],
})

describe('a stored plan', () => {
  it('brings back bands, forecasts, conflicts and broken rules', async () => {
    await inCellar(async (db) => {
      expect(await savePlan(db, cellarId, plan, MORNING)).toMatchObject({ revision: 1 })
      const stored = await findPlan(db, cellarId)
      expect(stored).toMatchObject({ revision: 1, broken: plan.broken, conflicts: plan.conflicts })
      expect(JSON.parse(JSON.stringify(stored.forecasts))).toEqual(JSON.parse(JSON.stringify(plan.forecasts)))
      const [first, second] = await listPhases(db, cellarId)
      expect(JSON.parse(JSON.stringify(first))).toEqual(JSON.parse(JSON.stringify(phase)))
      expect(second).not.toHaveProperty('endSpread')
    })
  })

  it('has a revision that rises with a change and with no other saving', async () => {
    await inCellar(async (db) => {
      expect((await findPlan(db, cellarId)).revision).toBe(0)
      await savePlan(db, cellarId, plan, MORNING)
      expect((await savePlan(db, cellarId, plan, hour(1))).revision).toBe(1)
      const moved = { ...plan, tasks: [makeTask('L01/rack-juice/1', { startAt: hour(1) })] }
      expect((await savePlan(db, cellarId, moved, hour(2))).revision).toBe(2)
      expect((await savePlan(db, cellarId, makePlan([]), hour(3))).revision).toBe(3)
      expect((await findPlanRevision(db, cellarId))?.plannedAt.toString()).toBe(hour(3).toString())
    })
  })
})

it('writes only bands that are others than before', async () => {
  await inCellar(async (db) => {
    const rows = () =>
      askRows<{ key: string; row: string }>(
        db,
        sql`select key, xmin::text || ctid::text as row from phase where cellar_id = ${cellarId} order by key`,
      )
    const second = { ...phase, key: 'L01/settle', kind: 'settle' as const }
    await savePlan(db, cellarId, makePlan([], { phases: [phase, second] }), MORNING)
    const first = await rows()
    await savePlan(db, cellarId, makePlan([], { phases: [phase, { ...second, tempC: 9.5 }] }), hour(1))
    const next = await rows()
    expect(next.map((r, i) => r.row === first[i]!.row)).toEqual(next.map((r) => r.key === phase.key))
    expect((await listPhases(db, cellarId)).find((p) => p.key === second.key)?.tempC).toBe(9.5)
    await savePlan(db, cellarId, makePlan([], { phases: [phase] }), hour(2))
    expect(await rows()).toEqual(next.filter((r) => r.key === phase.key))
  })
})

describe('a lot that ended in an earlier vintage', () => {
  const old = { ...facts.lots[0]!, id: 'old', code: 'S26', vintage: facts.cellar.vintage - 1, endedAt: hour(-2000) }
  const oldTask = makeTask('S26/rack-juice/1', { lotId: 'old', state: 'done' })
  const oldPhase = { ...phase, key: 'S26/ferment', lotId: 'old', lotCode: 'S26' }

  it('has no part in planning, and keeps its work and its bands', async () => {
    await inCellar(async (db) => {
      await addLots(db, cellarId, [old], { personId: null, at: MORNING })
      const told = { id: 'f', taskKey: oldTask.key, kind: 'done', at: MORNING } as const
      await recordTaskFacts(db, cellarId, [told], MORNING)
      const reading = { id: 'r', lotId: 'old', kind: 'pH', value: 3.2, takenAt: MORNING } as const
      await recordReadings(db, cellarId, [reading, { ...reading, id: 'r2', lotId: 'L01' }], MORNING)
      await savePlan(db, cellarId, makePlan([oldTask], { phases: [] }), MORNING)
      await savePlan(db, cellarId, makePlan([oldTask], { phases: [oldPhase] }), MORNING)

      const loaded = (await loadFacts(db, cellarId))!
      expect(loaded.lots.map((l) => l.code)).not.toContain('S26')
      expect(loaded.readings.map((r) => r.id)).toEqual(['r2'])
      expect(loaded.taskFacts).toEqual([])
      const all = (await loadAllFacts(db, cellarId))!
      expect(all.lots.map((l) => l.code)).toContain('S26')
      expect([all.readings.length, all.taskFacts.length]).toEqual([2, 1])

      await savePlan(db, cellarId, plan, hour(1))
      expect((await listTasks(db, cellarId, { lotId: 'old' })).map((t) => t.state)).toEqual(['done'])
      expect((await listPhases(db, cellarId, { lotId: 'old' })).map((p) => p.key)).toEqual(['S26/ferment'])
      expect(await listPhases(db, cellarId, { lotId: 'L01' })).toHaveLength(1)
    })
  })
})

describe('a window', () => {
  const at = (key: string, from: number, to: number, people = ['sam']) =>
    makeTask(key, { startAt: hour(from), endAt: hour(to), people })
  const tasks = [
    at('L01/a/1', 0, 2),
    at('L01/b/1', 2, 4, ['kim']),
    at('L02/a/1', 1, 9, ['sam', 'kim']),
    at('house/a/1', 4, 5),
  ]
  const keysOf = async (db: Db, window: Parameters<typeof listTasks>[2]) =>
    (await listTasks(db, cellarId, window)).map((t) => t.key)

  it('shows tasks that touch it, in order of start, and leaves out those that only meet its edge', async () => {
    await inCellar(async (db) => {
      await savePlan(db, cellarId, makePlan(tasks), MORNING)
      expect(await keysOf(db, {})).toEqual(['L01/a/1', 'L02/a/1', 'L01/b/1', 'house/a/1'])
      expect(await keysOf(db, { fromAt: hour(2), toAt: hour(4) })).toEqual(['L02/a/1', 'L01/b/1'])
      expect(await keysOf(db, { lotId: 'L01' })).toEqual(['L01/a/1', 'L01/b/1'])
      expect(await keysOf(db, { personId: 'kim' })).toEqual(['L02/a/1', 'L01/b/1'])
      expect(await keysOf(db, { personId: 'nobody' })).toEqual([])
      const named = await findTasks(db, cellarId, ['house/a/1', 'L01/a/1', 'L09/none/1'])
      expect(named.map((t) => t.key)).toEqual(['L01/a/1', 'house/a/1'])
    })
  })

  it('shows a milestone that falls inside it', async () => {
    await inCellar(async (db) => {
      await savePlan(db, cellarId, makePlan([at('L01/mlf-done/1', 3, 3)]), MORNING)
      expect(await keysOf(db, { fromAt: hour(3), toAt: hour(4) })).toEqual(['L01/mlf-done/1'])
      expect(await keysOf(db, { fromAt: hour(2), toAt: hour(3) })).toEqual([])
    })
  })

  it('shows bands that touch it', async () => {
    await inCellar(async (db) => {
      await savePlan(db, cellarId, plan, MORNING)
      const keys = async (window: Parameters<typeof listPhases>[2]) =>
        (await listPhases(db, cellarId, window)).map((p) => p.key)
      expect(await keys({ fromAt: hour(400), toAt: hour(501) })).toEqual(['L02/ferment'])
      expect(await keys({ lotId: 'L01' })).toEqual(['L01/ferment'])
    })
  })
})

// One connection runs transactions one after another, so only a server can show that planners wait for each other.
if (KIND === 'postgres') {
  it('two planners of one cellar take turns, and of two cellars do not wait', async () => {
    const own = await ownDb()
    const order: string[] = []
    const planner = (cellar: string, name: string, waitMs: number) =>
      own.db.transaction(async (tx) => {
        await lockPlan(tx, cellar)
        order.push(`${name} begins`)
        await new Promise((later) => setTimeout(later, waitMs))
        order.push(`${name} ends`)
      })
    const first = planner('a', 'first', 300)
    await new Promise((later) => setTimeout(later, 100))
    await Promise.all([first, planner('a', 'second', 0), planner('b', 'other', 0)])
    expect(order).toEqual(['first begins', 'other begins', 'other ends', 'first ends', 'second begins', 'second ends'])
    await own.close()
  })
}
