import type { AddressInfo } from 'node:net'
import { serve } from '@hono/node-server'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { dayOf, Temporal } from '../../api/time.ts'
import { type Made, makeApp } from '../api/make.ts'
import { createSubscriber, type Subscriber } from '../helpers/subscriber.ts'

const ZONE = 'Pacific/Auckland'

let made: Made
let server: ReturnType<typeof serve>
let phone: Subscriber

interface Task {
  readonly key: string
  readonly name: string
  readonly startAt: string
  readonly state: string
}

/** Cancelled tasks show for two weeks too, but where they were; they are left out of the comparison on both sides. */
const tasks = async (): Promise<readonly Task[]> =>
  (await made.as('winemaker')<{ tasks: Task[] }>('GET', '/api/tasks?lot=L03')).body.tasks.filter(
    (t) => t.state !== 'cancelled',
  )

const clock = (iso: string) =>
  Temporal.Instant.from(iso).toZonedDateTimeISO(ZONE).toPlainTime().toString({ smallestUnit: 'minute' })

beforeAll(async () => {
  made = await makeApp({ lots: ['L03'] })
  server = serve({ fetch: made.app.fetch, port: 0, hostname: '127.0.0.1' })
  await new Promise((r) => server.once('listening', r))
  const feed = await made.as('winemaker')<{ url: string }>('POST', '/api/feeds', { kind: 'lot', subject: 'L03' })
  const port = (server.address() as AddressInfo).port
  phone = await createSubscriber(`http://127.0.0.1:${port}${new URL(feed.body.url).pathname}`, ZONE)
})

afterAll(() => {
  phone?.close()
  server?.close()
})

it('a phone lists the day of a lot as the plan has it, and a moved task moves there, none doubled', async () => {
  await phone.sync()
  const planned = await tasks()
  // Midday work: moved by an hour it stays on its day.
  const task = planned.find((t) => t.state === 'planned' && /^(09|1[0-4])/.test(clock(t.startAt)))!
  const on = dayOf(Temporal.Instant.from(task.startAt), ZONE)
  const ofDay = planned.filter((t) => dayOf(Temporal.Instant.from(t.startAt), ZONE).equals(on))
  const day = `${on.toString()} 00:00`
  const starts = (lines: readonly string[]) =>
    lines
      .filter((l) => l.startsWith(on.toString()) && !l.includes('Cancelled'))
      .map((l) => l.slice(11, 16))
      .sort()
  expect(starts(await phone.list(day, 1))).toEqual(ofDay.map((t) => clock(t.startAt)).sort())

  const startAt = Temporal.Instant.from(task.startAt).add({ minutes: 60 }).toString()
  const pinned = await made.as('winemaker')('POST', `/api/tasks/${task.key}/pin`, { startAt })
  expect(pinned.status, pinned.text).toBe(200)
  await phone.sync()
  const after = await tasks()
  const then = after.filter((t) => dayOf(Temporal.Instant.from(t.startAt), ZONE).equals(on))
  expect(then.find((t) => t.key === task.key)?.startAt).toBe(startAt)
  expect(starts(await phone.list(day, 1))).toEqual(then.map((t) => clock(t.startAt)).sort())
})
