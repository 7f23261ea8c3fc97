import { beforeAll, expect, it } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { type Call, makeApp } from './make.ts'

let call: Call

beforeAll(async () => {
  call = (await makeApp()).as('winemaker')
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

it('refuses the question where nothing is pinned', async () => {
  const [task] = (await tasksOf()).filter(isOpen)
  const answer = await call<{ errors: { pointer: string }[] }>('POST', `/api/tasks/${task?.key}/start`, {
    andFollows: false,
  })
  expect([answer.status, answer.body.errors[0]?.pointer]).toEqual([422, '#/andFollows'])
})
