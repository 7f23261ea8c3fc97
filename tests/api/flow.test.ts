import { expect, it } from 'vitest'
import { createApp } from '../../api/app.ts'
import { makeLink } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { Temporal } from '../../api/time.ts'
import type { LotWire, TaskWire } from '../../api/wire.ts'
import { ownDb } from '../helpers/db.ts'
import { caller, FRUIT, ORIGIN } from './make.ts'

interface Acted {
  readonly task: TaskWire
  readonly changed: TaskWire[]
  readonly revision: number
}

/** From an empty database to a ticked task, over HTTP alone. */
it('leads from an empty start to dated work, a tick, a reading that moves the dry date, and an undo', async () => {
  const { db, close } = await ownDb()
  let nowAt = Temporal.Instant.from('2027-03-20T20:00:00Z')
  const app = createApp({ db, now: () => nowAt, changes: createChanges(), baseUrl: ORIGIN })
  const link = await makeLink(db, '', null, nowAt)

  // Nobody yet; the link of the first start makes the cellar.
  const nobody = caller(app)
  expect((await nobody('GET', '/api/me')).body).toMatchObject({ person: null, setup: true })
  const cellar = { name: 'Test Yard', hemisphere: 'south', vintage: 2027, zone: 'Pacific/Auckland', owner: 'Ada' }
  expect((await nobody('POST', '/api/cellar', cellar)).status).toBe(401)
  const setup = await nobody('POST', '/api/session', { link })
  expect(setup.body).toMatchObject({ setup: true })
  const made = await caller(app, cookieIn(setup.headers))('POST', '/api/cellar', cellar)
  expect(made.status).toBe(201)
  const session = made.headers.getSetCookie().find((c) => c.startsWith('session='))!
  const call = caller(app, session.split(';')[0])
  expect((await call('GET', '/api/me')).body).toMatchObject({ person: { name: 'Ada', role: 'owner' }, setup: false })

  // Vessels, machines, people.
  for (const code of ['T01', 'T02', 'T03']) {
    const vessel = { code, kind: 'tank', volumeL: 3200, jacket: true, pressureBar: 0.3 }
    expect((await call('POST', '/api/vessels', vessel)).status).toBe(201)
  }
  const press = {
    code: 'P1',
    kind: 'press',
    name: 'Press',
    capacity: 1,
    press: {
      wholeBunchT: [0.5, 3],
      destemmedT: [1, 6],
      programH: { standard: 2.5, 'whole-bunch-gentle': 3 },
      washH: 0.5,
      rinseH: 0.25,
    },
  }
  expect((await call('POST', '/api/machines', press)).status).toBe(201)
  // The rest of what a cellar has came with it, so that a first lot can be planned.
  const { body } = await call<{ machines: { code: string; kind: string }[] }>('GET', '/api/machines')
  const kinds = new Set(body.machines.map((m) => m.kind))
  for (const kind of ['press', 'pump', 'destemmer', 'chiller', 'lab', 'scale', 'forklift'])
    expect(kinds).toContain(kind)
  const hand = {
    name: 'Bo',
    role: 'hand',
    skills: ['pump', 'press', 'rounds'],
    shifts: [{ weekdays: [1, 2, 3, 4, 5, 6, 7], startMin: 360, endMin: 1080 }],
  }
  expect((await call('POST', '/api/people', hand)).status).toBe(201)

  // A lot: its tasks are there at once.
  const added = await call<{ lot: LotWire; changed: TaskWire[] }>('POST', '/api/lots', {
    code: 'L1',
    name: 'Home block',
    variety: 'Chenin Blanc',
    pickOn: '2027-03-22',
    fruit: FRUIT,
    style: 'crisp',
  })
  expect(added.status, added.text).toBe(201)
  expect(added.body.changed.length).toBeGreaterThan(20)
  const tasksOf = async () => (await call<{ tasks: TaskWire[] }>('GET', '/api/tasks?lot=L1')).body.tasks
  const before = await tasksOf()
  const press1 = before.find((t) => t.step === 'press')!
  expect(press1.why).not.toBe('')
  expect(press1.people.length).toBeGreaterThan(0)
  expect(
    Temporal.Instant.from(press1.startAt).toZonedDateTimeISO('Pacific/Auckland').toPlainDate().toString() >=
      '2027-03-22',
  ).toBe(true)

  // A tick.
  nowAt = Temporal.Instant.from(press1.endAt)
  const opId = crypto.randomUUID()
  const tick = await call<Acted>('POST', `/api/tasks/${press1.key}/done`, {
    opId,
    startAt: press1.startAt,
    volumeL: 2010,
  })
  expect(tick.status, tick.text).toBe(200)
  expect(tick.body.task).toMatchObject({ state: 'done', doneAt: nowAt.toString() })
  expect(tick.body.changed.map((t) => t.key)).toContain(press1.key)
  const again = await call<Acted>('POST', `/api/tasks/${press1.key}/done`, {
    opId,
    startAt: press1.startAt,
    volumeL: 2010,
  })
  expect(again.status).toBe(200)
  const transfers = (await call('GET', '/api/export/transfers.csv')).text.trim().split('\r\n')
  expect(transfers).toHaveLength(2)

  // Inoculated, then a reading far ahead of the forecast: the dry date comes earlier.
  const inoculate = (await tasksOf()).find((t) => t.step === 'inoculate')!
  nowAt = Temporal.Instant.from(inoculate.endAt)
  expect((await call('POST', `/api/tasks/${inoculate.key}/done`, {})).status).toBe(200)
  const lotOf = async () => (await call<{ lot: LotWire }>('GET', '/api/lots/L1')).body.lot
  const dryBefore = (await lotOf()).dry!.likelyAt
  nowAt = nowAt.add({ hours: 72 })
  const reading = await call<{ changed: TaskWire[]; revision: number }>('POST', '/api/readings', {
    readings: [{ lot: 'L1', kind: 'brix', value: 6 }],
  })
  expect(reading.status, reading.text).toBe(201)
  expect(reading.body.changed.length).toBeGreaterThan(0)
  const dryAfter = (await lotOf()).dry!.likelyAt
  expect(dryAfter < dryBefore, `${dryAfter} before ${dryBefore}`).toBe(true)

  // Taken back: it is open again, and its key is the same.
  const undone = await call<Acted>('POST', `/api/tasks/${inoculate.key}/undo`, { reason: 'wrong lot' })
  expect(undone.status, undone.text).toBe(200)
  expect(undone.body.task.key).toBe(inoculate.key)
  expect(undone.body.task.state).not.toBe('done')
  expect(undone.body.task.revision).toBeGreaterThan(inoculate.revision)
  await close()
})

const cookieIn = (headers: Headers) => headers.getSetCookie()[0]!.split(';')[0]!
