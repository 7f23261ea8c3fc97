import { beforeAll, describe, expect, it } from 'vitest'
import type { Order } from '../../api/order.ts'
import { type Asked, type Planner, plannerHere } from '../../api/planning.ts'
import { Temporal } from '../../api/time.ts'
import type { MachineWire, TaskWire } from '../../api/wire.ts'
import { type Made, makeApp, ORIGIN } from './make.ts'

const orders: { readonly order: Order; readonly asked: Asked | undefined }[] = []
const here = plannerHere()
const planner: Planner = {
  ...here,
  plan: (cellarId, order, asked) => {
    orders.push({ order, asked })
    return here.plan(cellarId, order, asked)
  },
}

let made: Made
beforeAll(async () => {
  made = await makeApp({ planner })
})

const ask = (question: string, signal?: AbortSignal, of = made) =>
  of.app.request(`${ORIGIN}/api/answers/${question}`, {
    headers: { cookie: of.cookieOf('hand'), 'sec-fetch-site': 'same-origin' },
    ...(signal ? { signal } : {}),
  })

describe('a question that needs another plan', () => {
  it.each([
    'press-on?lot=L01&on=2027-03-30',
    'take-more?lot=L01&on=2027-03-30&tonnes=2',
    'why-then?task=L01/press/1',
    'last-pick?lot=L01&on=2028-03-01',
  ])('has it made by the planner, for as long as the request lasts: %s', async (question) => {
    orders.length = 0
    const stop = new AbortController()
    expect((await ask(question, stop.signal)).status).toBe(200)
    expect(orders.length).toBeGreaterThan(0)
    stop.abort()
    expect(orders.every(({ asked }) => asked?.signal?.aborted)).toBe(true)
  })

  it('ends without an answer where nobody waits for it any more', async () => {
    const answer = await ask('why-then?task=L01/press/1', AbortSignal.abort())
    expect(answer.status).toBeGreaterThanOrEqual(500)
  })

  it('says what holds a task as it is planned here', async () => {
    const answer = (await (await ask('why-then?task=L01/press/1')).json()) as { sentences: readonly string[] }
    expect(answer.sentences).toContain('Why not earlier:')
    // With nothing that holds it, this is what it would say.
    expect(answer.sentences.join(' ')).not.toContain('press: the plan begins there')
  })

  it('about an absence has the plan made without that person, on that day alone', async () => {
    const { tasks } = (await made.as('owner')<{ tasks: TaskWire[] }>('GET', '/api/tasks')).body
    const theirs = tasks.find((t) => t.state === 'planned' && t.crewMin > 0 && t.people.length > 0)!
    const [person] = theirs.people
    const on = Temporal.Instant.from(theirs.startAt).toZonedDateTimeISO('Pacific/Auckland').toPlainDate()
    orders.length = 0
    const stop = new AbortController()
    const answer = await ask(`sick?person=${person}&on=${on}`, stop.signal)
    expect(answer.status).toBe(200)
    expect(orders).toHaveLength(1)
    const absences = orders[0]!.order.facts.people.find((p) => p.id === person)!.absences
    const midnight = (day: Temporal.PlainDate) => day.toZonedDateTime('Pacific/Auckland').toInstant().toString()
    expect(absences.map((a) => [a.fromAt.toString(), a.toAt.toString()])).toEqual([
      [midnight(on), midnight(on.add({ days: 1 }))],
    ])
    stop.abort()
    expect(orders[0]!.asked?.signal?.aborted).toBe(true)
  })

  it('how to get out of it has each way planned by the planner, and none is kept', async () => {
    // All presses are let on Tuesday 30 March, on which L07 is picked: another day or less fruit are the ways.
    const other = await makeApp({ planner, lots: ['L07'] })
    const lead = other.as('owner')
    const { machines } = (await lead<{ machines: MachineWire[] }>('GET', '/api/machines')).body
    for (const press of machines.filter((m) => m.kind === 'press')) {
      const { code, kind, name, capacity, bookings, version } = press
      const booking = { fromAt: '2027-03-29T11:00:00Z', toAt: '2027-03-30T11:00:00Z', why: 'let to a neighbour' }
      const body = { code, kind, name, capacity, version, bookings: [...bookings, booking] }
      expect((await lead('PUT', `/api/machines/${press.id}`, body)).status).toBe(200)
    }
    orders.length = 0
    const stop = new AbortController()
    const answer = await ask('ways-out', stop.signal, other)
    const { sentences, table } = (await answer.json()) as {
      sentences: string[]
      table: { rows: { cells: string[] }[] }
    }
    expect([answer.status, sentences[0]]).toEqual([200, expect.stringMatching(/^Broken: .*L07/)])
    const picks = orders.map(({ order }) => order.facts.lots.find((l) => l.code === 'L07')!)
    // The day after, the day after that, the day before; and 15 % less: 4.93 t of 5.8.
    expect(picks.slice(0, 4).map((l) => [l.pickOn.toString(), l.fruit.tonnes])).toEqual([
      ['2027-03-31', 5.8],
      ['2027-04-01', 5.8],
      ['2027-03-29', 5.8],
      ['2027-03-30', 4.93],
    ])
    expect(table.rows.length).toBe(orders.length)
    stop.abort()
    expect(orders.every(({ asked }) => asked?.signal?.aborted)).toBe(true)
    const { lots } = (await lead<{ lots: { code: string; pickOn: string }[] }>('GET', '/api/lots')).body
    expect(lots.map((l) => l.pickOn)).toEqual(['2027-03-30'])
  })
})
