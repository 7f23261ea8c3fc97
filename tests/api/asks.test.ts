import { beforeAll, describe, expect, it } from 'vitest'
import type { Order } from '../../api/order.ts'
import { type Asked, type Planner, plannerHere } from '../../api/planning.ts'
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

const ask = (question: string, signal?: AbortSignal) =>
  made.app.request(`${ORIGIN}/api/answers/${question}`, {
    headers: { cookie: made.cookieOf('hand'), 'sec-fetch-site': 'same-origin' },
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
})
