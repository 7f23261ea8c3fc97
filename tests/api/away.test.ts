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

interface Fermenting {
  readonly code: string
  readonly phase: string | null
  readonly dry?: { readonly likelyAt: string }
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
    const fermenting = async () =>
      (await alex<{ lots: Fermenting[] }>('GET', '/api/lots')).body.lots.filter((l) => l.phase === 'ferment' && l.dry)
    const before = await fermenting()
    const [one, other] = before
    if (!one || !other) throw new Error('two lots of the invented cellar ferment on this day')
    const [first, second] = await Promise.all([
      alex<{ notice?: string }>('POST', '/api/readings', reading(one.code, 1012)),
      alex<{ notice?: string }>('POST', '/api/readings', reading(other.code, 1017)),
      rollOn(demo.db, nowAt.add({ minutes: 61 }), notThis, planner),
    ])
    // A plan that failed would answer 201 too, with a notice.
    expect([first.status, second.status]).toEqual([201, 201])
    expect([first.body.notice, second.body.notice]).toEqual([undefined, undefined])
    // Each of the two forecasts follows its own reading, whichever plan was overtaken.
    const after = new Map((await fermenting()).map((l) => [l.code, l.dry?.likelyAt]))
    for (const l of [one, other]) expect(`${l.code} ${after.get(l.code)}`).not.toBe(`${l.code} ${l.dry?.likelyAt}`)
  }, 240_000)
})
