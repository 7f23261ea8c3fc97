import fc from 'fast-check'
import { expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { feedTaskOf } from '../../api/feed/task.ts'
import { writeFeed } from '../../api/feed/write.ts'
import type { TaskPlan } from '../../api/protocol/types.ts'
import { taskToWire } from '../../api/shapes/task.ts'
import { addCellar } from '../../db/queries/cellars.ts'
import { saveTasks } from '../../db/queries/save-tasks.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { makeSettings } from '../feed/make.ts'
import { all, type Component, events, one, read } from '../feed/reader.ts'
import { freshId, withDb } from '../helpers/db.ts'
import { MORNING, makeTask } from '../helpers/tasks.ts'

const KEYS = ['L01/press/1', 'L01/rack-juice/1', 'L02/press/1', 'L02/top-barrels/1', 'L02/top-barrels/2']

const change = fc.record({
  key: fc.constantFrom(...KEYS),
  what: fc.constantFrom('time', 'place', 'people', 'dose', 'state', 'words', 'leave', 'back', 'nothing'),
  by: fc.integer({ min: 1, max: 600 }),
})

type Plan = ReadonlyMap<string, TaskPlan>

function changed(plan: Plan, { key, what, by }: { key: string; what: string; by: number }): Plan {
  const next = new Map(plan)
  const t = plan.get(key)
  if (what === 'back' && !t) next.set(key, makeTask(key))
  if (!t) return next
  if (what === 'leave') next.delete(key)
  if (what === 'time')
    next.set(key, { ...t, startAt: t.startAt.add({ minutes: by }), endAt: t.endAt.add({ minutes: by }) })
  if (what === 'place') next.set(key, { ...t, toVessels: [`T${by}`] })
  if (what === 'people') next.set(key, { ...t, people: [`p${by}`] })
  if (what === 'dose') next.set(key, { ...t, doses: t.doses.map((d) => ({ ...d, amount: by })) })
  if (what === 'state') next.set(key, { ...t, state: t.state === 'planned' ? 'due' : 'planned' })
  if (what === 'words') next.set(key, { ...t, why: `because ${by}`, slackMin: by })
  return next
}

async function feedOf(db: Db, cellarId: string): Promise<string> {
  const rows = await listTasks(db, cellarId)
  const names = {
    lotNames: new Map<string, string>(),
    factsByTask: new Map(),
    codes: new Map(),
    painted: '',
    nowAt: MORNING,
  }
  const wires = rows.map((r) => taskToWire(r, names))
  const starts = new Map(wires.map((w) => [w.key, w.startAt]))
  const tasks = wires.map((w) =>
    feedTaskOf(w, cellarId, starts, { people: new Map(), actions: new Map(), units: 'metric' }),
  )
  return writeFeed(tasks, makeSettings(), MORNING)
}

const seen = (body: string) => new Map(events(read(body)).map((e) => [one(e, 'UID')!.value, e]))
const text = (e: Component) => JSON.stringify(e)
const told = (e: Component) => JSON.stringify(['DTSTART', 'DTEND', 'STATUS', 'LOCATION'].map((n) => all(e, n)))

it('over any sequence of plan changes a UID stays, SEQUENCE never falls and rises with what is told, bytes change only with content', async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(change, { minLength: 1, maxLength: 12 }), (changes) =>
      withDb(async (db) => {
        const cellarId = freshId('feed')
        await addCellar(db, { ...demoFacts().cellar, id: cellarId }, { demo: false, at: MORNING })
        let plan: Plan = new Map(KEYS.map((k) => [k, makeTask(k)]))
        await saveTasks(db, cellarId, [...plan.values()], MORNING)
        let before = await feedOf(db, cellarId)
        for (const [i, c] of changes.entries()) {
          plan = changed(plan, c)
          await saveTasks(db, cellarId, [...plan.values()], MORNING.add({ minutes: i + 1 }))
          const after = await feedOf(db, cellarId)
          const old = seen(before)
          for (const [uid, e] of seen(after)) {
            const was = old.get(uid)
            if (!was) continue
            const sequence = (x: Component) => Number(one(x, 'SEQUENCE')!.value)
            expect(sequence(e)).toBeGreaterThanOrEqual(sequence(was))
            if (told(e) !== told(was)) expect(sequence(e)).toBeGreaterThan(sequence(was))
            expect(one(e, 'DTSTAMP')!.value !== one(was, 'DTSTAMP')!.value).toBe(text(e) !== text(was))
          }
          for (const uid of old.keys()) expect([...seen(after).keys()]).toContain(uid)
          if (c.what === 'nothing' || c.what === 'words' || c.what === 'state') expect(after).toBe(before)
          before = after
        }
      }),
    ),
    { numRuns: 25 },
  )
})
