import { expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { tasksToJson, tasksToWire } from '../../api/routes/read.ts'
import { drawnTaskWire } from '../../api/wire.ts'
import { addCellar } from '../../db/queries/cellars.ts'
import { recordTaskFacts } from '../../db/queries/records.ts'
import { saveTasks } from '../../db/queries/save-tasks.ts'
import { listAllTasks, listSeenTasks } from '../../db/queries/seen-tasks.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { freshId, rolledBack, sharedDb } from '../helpers/db.ts'
import { MORNING, makeTask } from '../helpers/tasks.ts'

const KEYS = ['house/rack-juice/1', 'house/rack-juice/2', 'house/rack-juice/3']
const hour = (n: number) => MORNING.add({ hours: n })
const planned = (texts: readonly string[], from = 0) =>
  KEYS.map((key, i) => makeTask(key, { why: texts[i]!, startAt: hour(from + i), endAt: hour(from + i + 1) }))

/** A cellar of its own, since what is remembered is remembered by what was committed. */
async function made() {
  const db = await sharedDb()
  const cellarId = freshId()
  await addCellar(db, { ...demoFacts().cellar, id: cellarId }, { demo: false, at: MORNING })
  await saveTasks(db, cellarId, planned(['a', 'b', 'c']), MORNING)
  return { db, cellarId }
}

it('reads what stands, whoever changed it and however often', async () => {
  const { db, cellarId } = await made()
  const both = async (window = {}) => {
    const [is, seen] = [await listTasks(db, cellarId, window), await listSeenTasks(db, cellarId, window)]
    expect(seen).toEqual(is)
    return seen
  }
  const first = await both()
  expect(first.map((t) => t.rest.why)).toEqual(['a', 'b', 'c'])
  // Nothing changed: the same objects.
  expect((await both()).every((row, i) => row === first[i])).toBe(true)
  await saveTasks(db, cellarId, planned(['a', 'other', 'c']), hour(1))
  const second = await both()
  expect(second.map((t) => t.rest.why)).toEqual(['a', 'other', 'c'])
  expect([second[0] === first[0], second[1] === first[1]]).toEqual([true, false])
  // Twice within one transaction, seen in between, and taken back.
  await rolledBack(db, async (tx) => {
    await saveTasks(tx, cellarId, planned(['x', 'x', 'x']), hour(2))
    expect((await listSeenTasks(tx, cellarId)).map((t) => t.rest.why)).toEqual(['x', 'x', 'x'])
    await saveTasks(tx, cellarId, planned(['y', 'y', 'y']), hour(3))
    expect((await listSeenTasks(tx, cellarId)).map((t) => t.rest.why)).toEqual(['y', 'y', 'y'])
  })
  const third = await both()
  expect(third).toEqual(second)
  // A transaction knows what was read outside of it.
  await rolledBack(db, async (tx) => {
    expect((await listAllTasks(tx, cellarId)).every((row, i) => row === third[i])).toBe(true)
  })
  // Starts order them, a window cuts them.
  await saveTasks(db, cellarId, [...planned(['a', 'other', 'c'], 5)].reverse(), hour(4))
  await both()
  expect((await both({ fromAt: hour(6), toAt: hour(7) })).map((t) => t.key)).toEqual(['house/rack-juice/2'])
  await both({ personId: 'sam' })
  await both({ personId: 'nobody' })
})

it('keeps the same key of two cellars apart', async () => {
  const one = await made()
  const two = await made()
  await saveTasks(two.db, two.cellarId, planned(['d', 'e', 'f']), hour(1))
  const whys = async ({ db, cellarId }: typeof one) => (await listSeenTasks(db, cellarId)).map((t) => t.rest.why)
  for (let i = 0; i < 2; i++) {
    expect(await whys(one)).toEqual(['a', 'b', 'c'])
    expect(await whys(two)).toEqual(['d', 'e', 'f'])
  }
})

it('travels as text exactly as it does as objects, also once something was told of it', async () => {
  const { db, cellarId } = await made()
  const compare = async (nowAt = hour(9)) => {
    const tasks = await listSeenTasks(db, cellarId)
    const wires = await tasksToWire(db, cellarId, tasks, nowAt)
    for (let i = 0; i < 2; i++) expect(JSON.parse(await tasksToJson(db, cellarId, tasks, nowAt, 'all'))).toEqual(wires)
    const fields = Object.keys(drawnTaskWire.shape)
    const drawn = wires.map((w) => Object.fromEntries(Object.entries(w).filter(([name]) => fields.includes(name))))
    expect(JSON.parse(await tasksToJson(db, cellarId, tasks, nowAt, 'drawn'))).toEqual(drawn)
    return wires
  }
  expect((await compare(hour(1))).map((t) => t.late)).toEqual([false, false, false])
  expect((await compare()).map((t) => t.late)).toEqual([true, true, true])
  const fact = { id: freshId('fact'), taskKey: KEYS[0]!, kind: 'caution' as const, at: hour(1), personId: 'sam' }
  await recordTaskFacts(db, cellarId, [fact], hour(1))
  expect((await compare())[0]!.cautionRead).toEqual({ personId: 'sam', at: hour(1).toString() })
})
