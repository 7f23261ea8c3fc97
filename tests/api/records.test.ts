import { eq } from 'drizzle-orm'
import { beforeAll, describe, expect, it } from 'vitest'
import type { Choices } from '../../api/protocol/choices.ts'
import { withoutUndone } from '../../api/undone.ts'
import type { TaskWire } from '../../api/wire.ts'
import { loadFacts } from '../../db/queries/facts.ts'
import { choiceVersion } from '../../db/schema.ts'
import { type Call, type Made, makeApp, ORIGIN, type ProblemBody } from './make.ts'

let made: Made
let call: Call

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

const keyOf = async (step: string) =>
  (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L01')).body.tasks.find((t) => t.step === step)!.key

describe('a tick taken back', () => {
  it('takes its litres and doses out of the plan; the rows stay', async () => {
    const key = await keyOf('press')
    const told = {
      at: '2027-03-21T17:00:00Z',
      volumeL: 5100,
      additions: [{ product: 'pectinase', amount: 60, unit: 'g', treatedL: 5100 }],
    }
    expect((await call('POST', `/api/tasks/${key}/done`, told)).status).toBe(200)
    const counted = async () => {
      const facts = (await loadFacts(made.db, made.cellarId))!
      const plan = withoutUndone(facts)
      return [facts.transfers.length, facts.additions.length, plan.transfers.length, plan.additions.length]
    }
    expect(await counted()).toEqual([1, 1, 1, 1])
    expect((await call('POST', `/api/tasks/${key}/undo`, {})).status).toBe(200)
    expect(await counted()).toEqual([1, 1, 0, 0])
    // Told again at the same moment, it stands again.
    expect((await call('POST', `/api/tasks/${key}/done`, { at: told.at })).status).toBe(200)
    expect(await counted()).toEqual([1, 1, 1, 1])
    expect((await call('POST', `/api/tasks/${key}/undo`, {})).status).toBe(200)
  })

  it('may be taken back by who told it, or by a winemaker', async () => {
    const key = await keyOf('press')
    expect((await made.as('lab')('POST', `/api/tasks/${key}/start`, {})).status).toBe(200)
    const hand = await made.as('hand')<ProblemBody>('POST', `/api/tasks/${key}/undo`, {})
    expect([hand.status, hand.body.type]).toEqual([403, 'not-yours'])
    expect((await made.as('lab')('POST', `/api/tasks/${key}/undo`, {})).status).toBe(200)
  })
})

describe('a slip in the year', () => {
  it.each([
    ['POST', '/api/tasks/{press}/pin', { startAt: '2127-03-24T20:00:00Z' }, '#/startAt'],
    ['POST', '/api/tasks/{press}/done', { at: '1927-03-24T20:00:00Z' }, '#/at'],
    [
      'POST',
      '/api/readings',
      { readings: [{ lot: 'L01', kind: 'temp', value: 14, takenAt: '1027-03-20T20:00:00Z' }] },
      '#/readings/0/takenAt',
    ],
    [
      'POST',
      '/api/people/hand/absences',
      { fromAt: '2127-03-24T20:00:00Z', toAt: '2127-03-25T20:00:00Z', version: 1 },
      '#/fromAt',
    ],
  ])('is named at its field: %s %s', async (method, path, body, pointer) => {
    const answer = await call<ProblemBody>(method, path.replace('{press}', await keyOf('press')), body)
    expect(answer.status, answer.text).toBe(422)
    expect(answer.body.errors).toEqual([{ pointer, detail: expect.stringMatching(/check the year/) }])
  })
})

describe('readings', () => {
  it('count once, however often they are sent', async () => {
    const reading = { opId: crypto.randomUUID(), lot: 'L01', kind: 'temp', value: 13.5 }
    const send = () => call<{ readings: { id: string }[] }>('POST', '/api/readings', { readings: [reading, reading] })
    const [one, two] = [await send(), await send()]
    expect([one.status, two.status]).toEqual([201, 201])
    expect(two.body.readings[0]!.id).toBe(reading.opId)
    const stored = await call<{ readings: { id: string }[] }>('GET', '/api/readings?lot=L01')
    expect(stored.body.readings.filter((r) => r.id === reading.opId)).toHaveLength(1)
  })

  it('are corrected by a new one, which must name one of this lot', async () => {
    const first = await call<{ readings: { id: string }[] }>('POST', '/api/readings', {
      readings: [{ lot: 'L01', kind: 'pH', value: 3.9 }],
    })
    const corrects = first.body.readings[0]!.id
    const good = await call('POST', '/api/readings', { readings: [{ lot: 'L01', kind: 'pH', value: 3.2, corrects }] })
    expect(good.status, good.text).toBe(201)
    const bad = await call<ProblemBody>('POST', '/api/readings', {
      readings: [{ lot: 'L01', kind: 'pH', value: 3.2, corrects: 'nothing' }],
    })
    expect(bad.body.errors![0]!.pointer).toBe('#/readings/0/corrects')
  })
})

it('keeps what was entered when the plan cannot be made, and says so', async () => {
  const broken = await makeApp()
  await broken.db
    .update(choiceVersion)
    .set({ choices: {} as Choices })
    .where(eq(choiceVersion.cellarId, broken.cellarId))
  const answer = await broken.as('owner')<{ person: { id: string }; notice?: string; changed: unknown[] }>(
    'POST',
    '/api/people',
    { name: 'Gil', role: 'hand' },
  )
  expect(answer.status, answer.text).toBe(201)
  expect(answer.body.notice).toMatch(/is stored, but the plan could not be made anew/)
  expect(answer.body.changed).toEqual([])
  const people = await broken.as('owner')<{ people: { name: string }[] }>('GET', '/api/people')
  expect(people.body.people.map((p) => p.name)).toContain('Gil')
})

it('sends big answers gzipped to who takes them', async () => {
  const headers = { cookie: made.cookieOf('hand'), 'accept-encoding': 'gzip' }
  const plan = await made.app.request(`${ORIGIN}/api/plan`, { headers })
  expect(plan.headers.get('content-encoding')).toBe('gzip')
  expect(plan.headers.get('cache-control')).toBe('no-store')
  const plain = await made.app.request(`${ORIGIN}/api/plan`, { headers: { cookie: headers.cookie } })
  expect(plain.headers.get('content-encoding')).toBeNull()
  await Promise.all([plan.arrayBuffer(), plain.arrayBuffer()])
})
