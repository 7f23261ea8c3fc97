import 'fake-indexeddb/auto'
import { QueryClientProvider } from '@tanstack/solid-query'
import { render } from 'solid-js/web'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { get } from '../../web/api.ts'
import { ofTask, ready, record, retry, standing, startOffline } from '../../web/offline/index.ts'
import { allTasksPath } from '../../web/offline/kept.ts'
import { createQueries, taskReadMs, tasksReadMs, useCellar, useTask, useTasks } from '../../web/queries.ts'

const NOON = Date.parse('2027-03-22T00:00:00Z')
const MINUTE = 60_000
const dose = {
  key: 'L01/add-so2/1',
  lotId: 'L01',
  lotCode: 'L01',
  state: 'due',
  startAt: '2027-03-22T00:00:00Z',
  endAt: '2027-03-22T01:00:00Z',
  people: [],
  doses: [],
} as unknown as TaskWire

let now: TaskWire = dose
let reaches = true
const json = (body: unknown) => new Response(JSON.stringify(body), { headers: { 'content-type': 'application/json' } })

/** The cellar's server: it takes whatever is told, and answers with the task as it is now. */
async function server(path: string, init?: RequestInit): Promise<Response> {
  if (!reaches) throw new TypeError('no signal')
  if (path === '/api/me') return json({ person: { id: 'kim' } })
  if (path === '/api/cellar') return json({ id: 'yard', nowAt: '2027-03-22T08:00:00.000Z' })
  if (path.startsWith('/api/tasks?')) return json({ tasks: [now] })
  if (path.startsWith('/api/tasks/')) return json(now)
  const { operations } = JSON.parse(String(init?.body)) as { operations: { opId: string }[] }
  const answers = operations.map(({ opId }) => ({ opId, state: 'stored', words: '' }))
  return json({ from: 'leesway', nowAt: new Date().toISOString(), held: operations.length, answers })
}

let stop = () => {}
beforeEach(() => {
  vi.useFakeTimers({ toFake: ['Date'], now: NOON })
  vi.stubGlobal('fetch', server)
})
afterEach(() => {
  stop()
  vi.unstubAllGlobals()
  vi.useRealTimers()
})

/** Reads it with a signal, until the phone can answer it without. */
async function keep(path: string): Promise<void> {
  await get(path)
  reaches = false
  await vi.waitFor(() => get(path))
  reaches = true
}

/** What a fresh page shows of the task: alone, and in the list of the day. */
async function shown(): Promise<readonly string[]> {
  const range = { from: '2027-03-21T00:00:00Z', to: '2027-03-23T00:00:00Z' }
  const client = createQueries()
  const Screen = () => {
    const task = useTask(() => dose.key)
    const tasks = useTasks(() => range)
    return (
      <>
        <p data-of="task">{task.data && standing(task.data, taskReadMs(dose.key, task)).state}</p>
        <p data-of="list">{tasks.data?.tasks.map((t) => standing(t, tasksReadMs(range, tasks)).state)}</p>
      </>
    )
  }
  const end = render(
    () => (
      <QueryClientProvider client={client}>
        <Screen />
      </QueryClientProvider>
    ),
    document.body,
  )
  const states = () => [...document.querySelectorAll('p[data-of]')].map((p) => p.textContent ?? '')
  await vi.waitFor(() => expect(states().filter(Boolean)).toHaveLength(2))
  const seen = states()
  end()
  client.clear()
  return seen
}

it('shows done what was stored done, though the phone’s own copy is from before and there is no signal', async () => {
  await ready
  await keep('/api/me')
  await keep(allTasksPath(NOON))
  stop = startOffline({ personId: 'kim', cellarId: 'yard' })
  vi.setSystemTime(NOON + MINUTE)
  await record({ kind: 'done', task: dose, label: 'SO2' })
  await vi.waitFor(async () => {
    await retry()
    expect(ofTask(dose.key).map((k) => k.state)).toEqual(['stored'])
  })
  reaches = false
  vi.setSystemTime(NOON + 2 * MINUTE)
  expect(await shown()).toEqual(['done', 'done'])
  // Long after the phone has stopped showing what became of it.
  vi.setSystemTime(NOON + 5 * 60 * MINUTE)
  await retry()
  expect(ofTask(dose.key)).toEqual([])
  expect(await shown()).toEqual(['done', 'done'])
  // What the server says afterwards counts: somebody has taken the tick back.
  reaches = true
  now = { ...dose, state: 'due' }
  expect(await shown()).toEqual(['due', 'due'])
})

it('knows what time it is in the cellar, though it was last told six hours ago', async () => {
  await ready
  await keep('/api/me')
  await keep('/api/cellar')
  reaches = false
  vi.setSystemTime(NOON + 6 * 60 * MINUTE)
  const client = createQueries()
  const Clock = () => {
    const cellar = useCellar()
    return <p data-clock>{cellar.data?.nowAt}</p>
  }
  const end = render(
    () => (
      <QueryClientProvider client={client}>
        <Clock />
      </QueryClientProvider>
    ),
    document.body,
  )
  const clock = () => document.querySelector('p[data-clock]')?.textContent
  await vi.waitFor(() => expect(clock()).toBe('2027-03-22T14:00:00.000Z'))
  end()
  client.clear()
})
