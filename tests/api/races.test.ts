import { beforeAll, expect, it } from 'vitest'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { listTaskFacts } from '../../db/queries/records.ts'
import { type Call, type Made, makeApp } from './make.ts'

/** The embedded database runs one transaction after the other; the server database shows what truly happens at once. */
let made: Made
let call: Call
const EIGHT = [0, 1, 2, 3, 4, 5, 6, 7]

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

it('lets one of eight who change the same version win, and tells the others', async () => {
  const people = (await call<{ people: PersonWire[] }>('GET', '/api/people')).body.people
  const { name, version } = people.find((p) => p.id === 'hand')!
  const answers = await Promise.all(
    EIGHT.map((i) => call('PUT', '/api/people/hand', { name, role: 'hand', post: `writer ${i}`, version })),
  )
  expect(answers.map((a) => a.status).sort()).toEqual([200, 409, 409, 409, 409, 409, 409, 409])
  const after = (await call<{ people: PersonWire[] }>('GET', '/api/people')).body.people.find((p) => p.id === 'hand')!
  expect(after.version).toBe(version + 1)
  expect(after.post).toBe(`writer ${answers.findIndex((a) => a.status === 200)}`)
})

it('stores a tick once, however many copies of it arrive at once', async () => {
  const tasks = (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body.tasks
  const { key } = tasks.find((t) => t.step === 'press')!
  const told = { opId: crypto.randomUUID(), at: '2027-03-21T17:00:00Z', volumeL: 5000 }
  const answers = await Promise.all(EIGHT.map(() => call('POST', `/api/tasks/${key}/done`, told)))
  expect(answers.map((a) => a.status)).toEqual(EIGHT.map(() => 200))
  expect((await listTaskFacts(made.db, made.cellarId, key)).filter((f) => f.kind === 'done')).toHaveLength(1)
  expect((await call('GET', '/api/export/transfers.csv')).text.trim().split('\r\n')).toHaveLength(2)
})

it('stores a reading once, however many copies of it arrive at once', async () => {
  const reading = { opId: crypto.randomUUID(), lot: 'L01', kind: 'temp', value: 13 }
  const answers = await Promise.all(EIGHT.map(() => call('POST', '/api/readings', { readings: [reading] })))
  expect(answers.map((a) => a.status)).toEqual(EIGHT.map(() => 201))
  const stored = await call<{ readings: { id: string }[] }>('GET', '/api/readings?lot=L01')
  expect(stored.body.readings.filter((r) => r.id === reading.opId)).toHaveLength(1)
})
