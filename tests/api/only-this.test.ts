import { beforeAll, expect, it } from 'vitest'
import { createApp } from '../../api/app.ts'
import { plannerHere } from '../../api/planning.ts'
import { stayReason } from '../../api/routes/stays.ts'
import { Temporal } from '../../api/time.ts'
import type { TaskWire } from '../../api/wire.ts'
import { listTaskFacts } from '../../db/queries/records.ts'
import { type Call, caller, type Made, makeApp, NOW, ORIGIN } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const tasksOf = async () => (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body.tasks
const later = (at: string, hours: number) => new Date(Date.parse(at) + hours * 3_600_000).toISOString()
const isOpen = (t: TaskWire) => t.state === 'planned' || t.state === 'due' || t.state === 'blocked'
const others = (tasks: readonly TaskWire[], key: string) =>
  tasks.filter((t) => t.key !== key && isOpen(t)).map((t) => `${t.key} ${t.startAt}`)

/** An open task with followers that a plain pin two days on would drag along. */
async function dragging(tasks: readonly TaskWire[]) {
  for (const task of tasks.filter((t) => isOpen(t) && t.next.length > 0 && !t.pinned)) {
    const startAt = later(task.startAt, 48)
    const seen = await call<{ changed: { key: string; lotCode: string }[] }>('POST', `/api/tasks/${task.key}/preview`, {
      startAt,
      andFollows: true,
    })
    if (seen.body.changed.some((t) => t.key !== task.key && t.lotCode === 'L01')) return { task, startAt }
  }
  throw new Error('no task of the lot drags another along')
}

it('moves one task alone, and one undo puts all of it back', async () => {
  const before = await tasksOf()
  const { task, startAt } = await dragging(before)
  const answer = await call<{ task: TaskWire }>('POST', `/api/tasks/${task.key}/pin`, { startAt, andFollows: false })
  expect(answer.status).toBe(200)
  expect(Date.parse(answer.body.task.startAt)).toBe(Date.parse(startAt))
  const after = await tasksOf()
  expect(others(after, task.key)).toEqual(others(before, task.key))
  expect(after.filter((t) => t.pinned && t.key !== task.key).length).toBeGreaterThan(0)
  expect((await call('POST', `/api/tasks/${task.key}/undo`, {})).status).toBe(200)
  const again = await tasksOf()
  expect(again.filter((t) => t.pinned).map((t) => t.key)).toEqual(before.filter((t) => t.pinned).map((t) => t.key))
})

/** Somebody at a second server of the cellar, where something happens once, before its first plan is ready. */
function slow(meanwhile: () => Promise<unknown>): Call {
  const { db, changes } = made
  const inner = plannerHere()
  let first = true
  const planner = {
    ...inner,
    plan: async (...asked: Parameters<typeof inner.plan>) => {
      if (first) {
        first = false
        await meanwhile()
      }
      return inner.plan(...asked)
    },
  }
  const app = createApp({ db, changes, planner, baseUrl: ORIGIN, now: () => Temporal.Instant.from(NOW) })
  return caller(app, made.cookieOf('winemaker'))
}
const staysFor = async (key: string) =>
  (await listTaskFacts(made.db, made.cellarId)).filter((f) => f.reason === stayReason(key))

it('holds nothing in place that was moved while it was thought out', async () => {
  const before = await tasksOf()
  const { task, startAt } = await dragging(before)
  const old = new Set((await staysFor(task.key)).map((f) => f.id))
  const { changed } = (
    await call<{ changed: { key: string; lotCode: string }[] }>('POST', `/api/tasks/${task.key}/preview`, { startAt })
  ).body
  const keys = new Set(changed.filter((t) => t.key !== task.key).map((t) => t.key))
  const dragged = before.filter((t) => keys.has(t.key) && isOpen(t))
  // One that drags the rest of the lot along; what comes before it stays.
  const other = dragged.find((t) => t.step === 'rack-juice')!
  let moved: string[] = []
  const answer = await slow(async () => {
    const pin = { startAt: later(other.startAt, 96) }
    expect((await call('POST', `/api/tasks/${other.key}/pin`, pin)).status).toBe(200)
    const was = new Map(before.map((t) => [t.key, t.startAt]))
    moved = (await tasksOf()).filter((t) => was.get(t.key) !== t.startAt).map((t) => t.key)
  })('POST', `/api/tasks/${task.key}/pin`, { startAt, andFollows: false })
  expect(answer.status).toBe(200)
  const stays = (await staysFor(task.key)).filter((f) => !old.has(f.id)).map((f) => f.taskKey)
  expect(dragged.filter((t) => t.key !== other.key && moved.includes(t.key)).length).toBeGreaterThan(0)
  expect(stays.length).toBeGreaterThan(0)
  expect(stays.filter((key) => moved.includes(key))).toEqual([])
  for (const key of [task.key, other.key]) expect((await call('POST', `/api/tasks/${key}/undo`, {})).status).toBe(200)
})

it('refuses to move what was done while it was thought out, and holds nothing for it', async () => {
  const { task, startAt } = await dragging(await tasksOf())
  const held = await staysFor(task.key)
  const answer = await slow(async () => {
    expect((await call('POST', `/api/tasks/${task.key}/done`, { at: NOW })).status).toBe(200)
  })<{ type: string }>('POST', `/api/tasks/${task.key}/pin`, { startAt, andFollows: false })
  expect([answer.status, answer.body.type]).toEqual([409, expect.stringContaining('already-done')])
  expect(await staysFor(task.key)).toEqual(held)
  expect((await call('POST', `/api/tasks/${task.key}/undo`, {})).status).toBe(200)
})

it('refuses the question where nothing is pinned', async () => {
  const [task] = (await tasksOf()).filter(isOpen)
  const answer = await call<{ errors: { pointer: string }[] }>('POST', `/api/tasks/${task?.key}/start`, {
    andFollows: false,
  })
  expect([answer.status, answer.body.errors[0]?.pointer]).toEqual([422, '#/andFollows'])
})
