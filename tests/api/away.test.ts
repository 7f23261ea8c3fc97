import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createApp } from '../../api/app.ts'
import { startSession } from '../../api/auth.ts'
import { createChanges } from '../../api/changes.ts'
import { plannerAway } from '../../api/planning.ts'
import { rollOn } from '../../api/rolling.ts'
import { Temporal } from '../../api/time.ts'
import type { TaskWire } from '../../api/wire.ts'
import { type Demo, makeDemo, wall } from './demo.ts'
import { type Call, caller, ORIGIN } from './make.ts'

const planner = plannerAway()
let demo: Demo
let alex: Call
let nowAt = Temporal.Instant.from(wall('2027-03-22T06:30'))

beforeAll(async () => {
  demo = await makeDemo()
  const { db, cellarId } = demo
  const app = createApp({ db, now: () => nowAt, changes: createChanges(), baseUrl: ORIGIN, planner })
  const person = { cellarId, id: 'alex', name: 'Alex', role: 'owner' as const, language: 'en' }
  alex = caller(app, `session=${(await startSession(db, person, 'test', nowAt)).secret}`)
}, 240_000)
afterAll(() => planner.close())

/** Other tests' cellars in the same database may be beyond planning; this one is not. */
const notThis = (cellarId: string, error: unknown) => {
  if (cellarId === demo.cellarId) throw error
}

/** What a reading of the fermenting lot says, as sent by a screen. */
const reading = (lot: string, value: number) => ({ readings: [{ lot, kind: 'density', value }] })

interface Curve {
  readonly forecast: readonly { readonly at: string; readonly sugarGPerL: number }[]
}

/** What the plan expects of a lot's sugar, in g/L, hour by hour. */
async function curveOf(lot: string): Promise<readonly string[]> {
  const { body } = await alex<Curve>('GET', `/api/lots/${lot}`)
  return body.forecast.map((p) => `${p.at} ${p.sugarGPerL.toFixed(1)}`)
}

describe('a server whose plans are made in a thread of its own', () => {
  it('answers others while it plans, and the plan is the one it would have made itself', async () => {
    let planned = false
    const asked = alex<{ revision: number }>('POST', '/api/readings', reading('L03', 1040)).then((answer) => {
      planned = true
      return answer
    })
    let between = 0
    while (!planned) {
      const began = performance.now()
      const { status } = await alex('GET', '/healthz')
      expect(status).toBe(200)
      if (!planned) between++
      expect(performance.now() - began).toBeLessThan(2_000)
      await new Promise((next) => setTimeout(next, 5))
    }
    expect((await asked).status).toBe(201)
    expect(between).toBeGreaterThan(5)
    // Planned again with nothing new, by the planner of the other server: nothing moves.
    const before = (await alex<{ tasks: TaskWire[] }>('GET', '/api/tasks')).body.tasks
    nowAt = nowAt.add({ minutes: 61 })
    await rollOn(demo.db, nowAt, notThis)
    const open = (t: TaskWire) => t.state === 'planned' || t.state === 'due'
    const after = new Map((await alex<{ tasks: TaskWire[] }>('GET', '/api/tasks')).body.tasks.map((t) => [t.key, t]))
    const far = nowAt.add({ hours: 24 }).epochMilliseconds
    for (const t of before)
      if (open(t) && Temporal.Instant.from(t.startAt).epochMilliseconds > far)
        expect(`${t.key} ${after.get(t.key)?.startAt}`).toBe(`${t.key} ${t.startAt}`)
  })

  it('plans anew with facts that came while it planned', async () => {
    const before = await Promise.all([curveOf('L03'), curveOf('L04')])
    const [first, second] = await Promise.all([
      alex('POST', '/api/readings', reading('L03', 1030)),
      alex('POST', '/api/readings', reading('L04', 1035)),
      rollOn(demo.db, nowAt.add({ minutes: 61 }), notThis, planner),
    ])
    // A plan that failed would answer 201 too, with a notice.
    expect([first.status, second.status, first.body.notice, second.body.notice]).toEqual([
      201,
      201,
      undefined,
      undefined,
    ])
    const after = await Promise.all([curveOf('L03'), curveOf('L04')])
    for (const k of [0, 1]) {
      expect(after[k]!.length).toBeGreaterThan(0)
      expect(after[k]).not.toEqual(before[k])
    }
  })
})
