import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { recordTaskFacts } from '../../db/queries/records.ts'
import { saveTasks } from '../../db/queries/save-tasks.ts'
import { findTask, listTasks, type StoredTask } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { withDb } from '../helpers/db.ts'
import { MORNING, makeTask } from '../helpers/tasks.ts'

const facts = demoFacts()
const cellarId = facts.cellar.id
const hour = (n: number) => MORNING.add({ hours: n })

/** A test in a cellar that has its lots and no plan yet. */
const inCellar = <T>(test: (db: Db) => Promise<T>) =>
  withDb(async (db) => {
    await storeFacts(db, facts, { demo: true, at: MORNING })
    return test(db)
  })

const save = (db: Db, tasks: readonly TaskPlan[], at = MORNING) => saveTasks(db, cellarId, tasks, at)
const find = (db: Db, key: string) => findTask(db, cellarId, key) as Promise<StoredTask>
const KEY = 'L01/rack-juice/1'

describe('a plan that is stored', () => {
  it('reads back as it was planned', async () => {
    await inCellar(async (db) => {
      const spread = { earliestAt: hour(-5), latestAt: hour(9) }
      await save(db, [makeTask(KEY, { spread, forecast: true })])
      const row = await find(db, KEY)
      expect(row.startAt.toString()).toBe(MORNING.toString())
      expect(row.people).toEqual(['sam', 'robin'])
      expect(row.rest).toMatchObject({
        detail: '5,790 L',
        spread: { earliestAt: hour(-5).toString() },
        machines: ['P2'],
      })
      expect(row.revision).toBe(0)
    })
  })

  it('changes nothing when it is stored again', async () => {
    await inCellar(async (db) => {
      const tasks = [makeTask(KEY), makeTask('L02/rack-juice/1'), makeTask('house/gas-check/1')]
      expect((await save(db, tasks)).changed).toEqual(tasks.map((t) => t.key))
      expect(await save(db, tasks, hour(1))).toEqual({ changed: [], cancelled: [] })
      expect((await find(db, KEY)).changedAt.toString()).toBe(MORNING.toString())
    })
  })

  it('may not hold two tasks with one key', async () => {
    await expect(inCellar((db) => save(db, [makeTask(KEY), makeTask(KEY)]))).rejects.toThrow(KEY)
  })
})

describe('the revision of a task', () => {
  const rises: Record<string, Partial<TaskPlan>> = {
    'its start': { startAt: hour(1) },
    'its end': { endAt: hour(4) },
    'its people': { people: ['sam'] },
    'where to': { toVessels: ['T02'] },
    'where from': { fromVessels: ['T10'] },
    'its machine': { machines: ['P3'] },
    'its dose': { doses: [{ ...makeTask(KEY).doses[0]!, amount: 271 }] },
    'its state': { state: 'underway' },
    'its grain, to the day or to the minute,': { grain: 'day' },
  }
  it.each(Object.entries(rises))('rises by one when %s changes', async (_, change) => {
    await inCellar(async (db) => {
      await save(db, [makeTask(KEY), makeTask('L02/rack-juice/1')])
      const { changed } = await save(db, [makeTask(KEY, change), makeTask('L02/rack-juice/1')], hour(1))
      expect(changed).toEqual([KEY])
      const row = await find(db, KEY)
      expect(row.revision).toBe(1)
      expect(row.changedAt.toString()).toBe(hour(1).toString())
    })
  })

  const stays: Record<string, Partial<TaskPlan>> = {
    'its reason': { why: 'The pump is free.', whyNotLater: 'Nobody later.' },
    'its slack': { slackMin: 10, latestAt: hour(3) },
    'its conflicts': { conflicts: ['K09'] },
    'the clock, which makes it due': { state: 'due' },
  }
  it.each(Object.entries(stays))('stays when only %s changes, and the new words are stored', async (_, change) => {
    await inCellar(async (db) => {
      await save(db, [makeTask(KEY)])
      const before = await find(db, KEY)
      expect((await save(db, [makeTask(KEY, change)], hour(1))).changed).toEqual([])
      const after = await find(db, KEY)
      expect(after.revision).toBe(0)
      expect(after.changedAt.toString()).toBe(MORNING.toString())
      expect(JSON.stringify(after)).not.toBe(JSON.stringify(before))
    })
  })

  const shown: Record<string, Partial<TaskPlan>> = {
    'its links': { next: ['L01/inoculate/1'] },
    'its name': { name: 'Rack' },
    'its detail': { detail: '5,620 L' },
  }
  it.each(Object.entries(shown))(
    'stays when only %s changes, but the stamp moves, as a subscriber sees it',
    async (_, change) => {
      await inCellar(async (db) => {
        await save(db, [makeTask(KEY)])
        expect((await save(db, [makeTask(KEY, change)], hour(1))).changed).toEqual([])
        const after = await find(db, KEY)
        expect([after.revision, after.changedAt.toString()]).toEqual([0, hour(1).toString()])
      })
    },
  )
})

describe('a task that falls out of the plan', () => {
  it('is cancelled with a reason, not deleted, and comes back when it is needed again', async () => {
    await inCellar(async (db) => {
      await save(db, [makeTask(KEY)])
      const reason = 'The lot is fermented on its skins now.'
      const gone = await saveTasks(db, cellarId, [], hour(1), { reasonFor: () => reason })
      expect(gone.cancelled).toEqual([KEY])
      expect(await find(db, KEY)).toMatchObject({ state: 'cancelled', cancelReason: reason, revision: 1 })
      expect((await save(db, [], hour(2))).cancelled).toEqual([])
      expect((await save(db, [makeTask(KEY)], hour(3))).changed).toEqual([KEY])
      expect(await find(db, KEY)).toMatchObject({ state: 'planned', cancelReason: null, revision: 2 })
    })
  })
})

describe('a task that was done', () => {
  const done = makeTask(KEY, { state: 'done' })

  it('stays as it was done, whatever the plan says, and also when the plan forgets it', async () => {
    await inCellar(async (db) => {
      await save(db, [done])
      const before = JSON.stringify(await find(db, KEY))
      await save(db, [makeTask(KEY, { state: 'done', startAt: hour(3), endAt: hour(5), people: ['kim'] })], hour(1))
      await save(db, [makeTask(KEY, { startAt: hour(3), endAt: hour(5) })], hour(2))
      expect((await save(db, [], hour(3))).cancelled).toEqual([])
      expect(JSON.stringify(await find(db, KEY))).toBe(before)
    })
  })

  it('is planned again once somebody took it back', async () => {
    await inCellar(async (db) => {
      await save(db, [done])
      await recordTaskFacts(db, cellarId, [{ id: 'f1', taskKey: KEY, kind: 'done', at: MORNING }], MORNING)
      await recordTaskFacts(
        db,
        cellarId,
        [{ id: 'f2', taskKey: KEY, kind: 'undo', at: hour(1), undoesId: 'f1' }],
        hour(1),
      )
      expect((await save(db, [makeTask(KEY, { startAt: hour(2), endAt: hour(4) })], hour(1))).changed).toEqual([KEY])
      expect(await find(db, KEY)).toMatchObject({ state: 'planned', revision: 1 })
    })
  })

  it('is cancelled once it was taken back and its time is over', async () => {
    await inCellar(async (db) => {
      const other = [makeTask('L01/press/1')]
      await save(db, [done, ...other])
      const facts = [
        { id: 'f1', taskKey: KEY, kind: 'done', at: MORNING },
        { id: 'f2', taskKey: KEY, kind: 'undo', at: hour(1), undoesId: 'f1' },
      ] as const
      await recordTaskFacts(db, cellarId, [facts[0]], MORNING)
      expect((await save(db, other, hour(1))).cancelled).toEqual([])
      await recordTaskFacts(db, cellarId, [facts[1]], hour(2))
      expect((await save(db, other, hour(2))).cancelled).toEqual([KEY])
      expect(await find(db, KEY)).toMatchObject({ state: 'cancelled', revision: 1 })
    })
  })

  it('keeps a skip as well', async () => {
    await inCellar(async (db) => {
      await save(db, [makeTask(KEY, { state: 'skipped' })])
      expect((await save(db, [], hour(1))).cancelled).toEqual([])
      expect((await find(db, KEY)).state).toBe('skipped')
    })
  })
})

const anyTask = fc
  .record({
    n: fc.integer({ min: 1, max: 12 }),
    startH: fc.integer({ min: 0, max: 9 }),
    state: fc.constantFrom('planned', 'due', 'underway', 'done', 'blocked' as const),
    people: fc.subarray(['sam', 'kim', 'noor']),
    why: fc.constantFrom('a', 'b'),
  })
  .map(({ n, startH, ...rest }) =>
    makeTask(`L01/rack-juice/${n}`, { ...rest, startAt: hour(startH), endAt: hour(startH + 1) }),
  )
const anyPlan = fc.uniqueArray(anyTask, { selector: (t) => t.key, maxLength: 12 })

describe('for any series of plans', () => {
  it('no row is lost, no revision falls, done work stays, and a repeat changes nothing', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(anyPlan, { minLength: 1, maxLength: 6 }), (plans) =>
        inCellar(async (db) => {
          let before: StoredTask[] = []
          for (const [i, plan] of plans.entries()) {
            await save(db, plan, hour(i))
            expect(await save(db, plan, hour(i))).toEqual({ changed: [], cancelled: [] })
            const after = new Map((await listTasks(db, cellarId)).map((t) => [t.key, t]))
            for (const old of before) {
              const now = after.get(old.key)!
              expect(now.revision).toBeGreaterThanOrEqual(old.revision)
              if (old.state === 'done') expect(JSON.stringify(now)).toBe(JSON.stringify(old))
            }
            for (const t of plan) expect(after.has(t.key)).toBe(true)
            before = [...after.values()]
          }
        }),
      ),
      { numRuns: 15 },
    )
  })
})

describe('a year of tasks', () => {
  it('is stored in chunks, all of it', async () => {
    const many = Array.from({ length: 2300 }, (_, i) => makeTask(`L01/check-ferment/${i + 1}`))
    await inCellar(async (db) => {
      expect((await save(db, many)).changed).toHaveLength(2300)
      expect((await save(db, many.slice(0, 100), hour(1))).cancelled).toHaveLength(2200)
      expect(await listTasks(db, cellarId)).toHaveLength(2300)
    })
  })
})
