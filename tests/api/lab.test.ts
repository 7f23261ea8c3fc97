/** What a reading does to the plan, how a doubtful one is asked about, doses that changed, and the lock on SO2. */
import { beforeAll, describe, expect, it } from 'vitest'
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

interface Recorded {
  readonly readings: readonly ReadingWire[]
  readonly changed: readonly TaskWire[]
  readonly warnings: readonly string[]
}

let made: Made
let call: Call

const send = <T = Recorded>(readings: readonly Record<string, unknown>[]) =>
  call<T>('POST', '/api/readings', { readings })
const tasksOf = async (lot: string) => (await call<{ tasks: TaskWire[] }>('GET', `/api/tasks?lot=${lot}`)).body.tasks
const taskAt = async (key: string) => (await call<TaskWire>('GET', `/api/tasks/${key}`)).body

async function done(key: string, at: string): Promise<void> {
  const answer = await call('POST', `/api/tasks/${key}/done`, { at })
  expect(answer.status, `${key}: ${answer.text}`).toBe(200)
}

describe('a reading that is hard to believe', () => {
  beforeAll(async () => {
    made = await makeApp({ now: '2027-03-28T18:00:00Z' })
    call = made.as('lab')
    await send([{ lot: 'L01', kind: 'brix', value: 16, takenAt: '2027-03-28T10:00:00Z' }])
  })
  const jump = { lot: 'L01', kind: 'brix', value: 12, takenAt: '2027-03-28T16:00:00Z' }

  it('is asked about when the sender wants to be asked, and not stored', async () => {
    const answer = await send<ProblemBody>([{ ...jump, confirmed: false }])
    expect(answer.status).toBe(409)
    expect(answer.body.type).toMatch(/measure-again/)
    expect(answer.body.errors).toEqual([
      { pointer: '#/readings/0/value', detail: 'brix jumps 4 Brix in 6 h: measure again?' },
    ])
    const stored = await call<{ readings: ReadingWire[] }>('GET', '/api/readings?lot=L01')
    expect(stored.body.readings.map((r) => r.value)).toEqual([16])
  })

  it('is stored without a word once it is confirmed, and with a warning where nothing is said', async () => {
    const confirmed = await send([{ ...jump, confirmed: true }])
    expect(confirmed.status).toBe(201)
    expect(confirmed.body.warnings).toEqual([])
    const silent = await send([{ ...jump, value: 8, takenAt: '2027-03-28T17:00:00Z' }])
    expect(silent.body.warnings).toEqual(['brix jumps 4 Brix in 1 h: measure again?'])
  })

  it('is compared with the last of either hydrometer scale', async () => {
    // 1060 kg/m3 is some 14.5 Brix; 8 Brix was read ten minutes before.
    const answer = await send<ProblemBody>([
      { lot: 'L01', kind: 'density', value: 1060, takenAt: '2027-03-28T17:10:00Z', confirmed: false },
    ])
    expect(answer.body.errors?.[0]?.detail).toMatch(/^density jumps .* measure again\?$/)
  })

  it('is more sugar, malic or wine than its lot could give', async () => {
    const answer = await send([
      { lot: 'L01', kind: 'brix', value: 30, takenAt: '2027-03-20T10:00:00Z' },
      { lot: 'L01', kind: 'volume', value: 90_000 },
    ])
    expect(answer.body.warnings).toHaveLength(2)
    for (const words of answer.body.warnings) expect(words).toMatch(/unusual for this lot/)
  })

  it('is corrected by a new entry; the wrong one stays and counts no more', async () => {
    const { body } = await call<{ readings: ReadingWire[] }>('GET', '/api/readings?lot=L01')
    const wrong = body.readings.find((r) => r.value === 8)!
    const answer = await send([{ lot: 'L01', kind: 'brix', value: 11.8, takenAt: wrong.takenAt, corrects: wrong.id }])
    expect(answer.body.readings[0]).toMatchObject({ value: 11.8, correctsId: wrong.id })
    const after = await call<{ readings: ReadingWire[] }>('GET', '/api/readings?lot=L01')
    expect(after.body.readings.some((r) => r.id === wrong.id && r.value === 8)).toBe(true)
  })

  it('is asked about when it is told with a task, too', async () => {
    const task = (await tasksOf('L01')).find((t) => t.step === 'check-ferment')!
    const body = { readings: [{ kind: 'temp', value: 40, confirmed: false }] }
    const answer = await call<ProblemBody>('POST', `/api/tasks/${task.key}/done`, body)
    expect(answer.status).toBe(409)
    expect(answer.body.errors?.[0]?.pointer).toBe('#/readings/0/value')
    expect((await taskAt(task.key)).state).not.toBe('done')
  })
})

describe('readings that end a ferment', () => {
  beforeAll(async () => {
    made = await makeApp({ now: '2027-03-24T00:00:00Z' })
    call = made.as('winemaker')
    const inoculate = (await tasksOf('L01')).find((t) => t.step === 'inoculate')!
    await done(inoculate.key, '2027-03-23T22:00:00Z')
  })

  it('move the end of the phase and the plan; each moved task says why, from and to', async () => {
    made.setNow('2027-03-30T02:00:00Z')
    const before = await taskAt('L01/rack-gross/1')
    const first = await send([{ lot: 'L01', kind: 'density', value: 992, takenAt: '2027-03-29T01:00:00Z' }])
    expect(first.status).toBe(201)
    const phase = async () =>
      (
        await call<{ phases: { kind: string; endAt: string; endSpread?: unknown }[] }>('GET', '/api/lots/L01')
      ).body.phases.find((p) => p.kind === 'ferment')!
    expect((await phase()).endSpread, 'one dry reading settles nothing').toBeDefined()
    const second = await send([{ lot: 'L01', kind: 'density', value: 991.5, takenAt: '2027-03-30T01:00:00Z' }])
    expect((await phase()).endSpread, 'two readings under the limit a day apart').toBeUndefined()
    const racked = await taskAt('L01/rack-gross/1')
    expect(racked.startAt).not.toBe(before.startAt)
    expect(racked.change?.toStartAt).toBe(racked.startAt)
    expect(racked.change?.words).toMatch(/^dry came \d+ \w+ (\d\d:\d\d )?instead of \d+ \w+.*, so \d+ \w+.* -> \d+ \w+/)
    const told = [...first.body.changed, ...second.body.changed].filter((t) => t.change?.at)
    expect(told.find((t) => t.key === racked.key)?.change?.words).toBe(racked.change?.words)
  })

  it('keep the cause when the next plan moves nothing', async () => {
    const racked = await taskAt('L01/rack-gross/1')
    await call('POST', '/api/tasks/L01/rack-gross/1/note', { note: 'hose 3' })
    await send([{ lot: 'L01', kind: 'smell', value: 0 }])
    expect((await taskAt('L01/rack-gross/1')).change).toEqual(racked.change)
  })
})

describe('a dose whose volume changed', () => {
  it('asks for a fresh look until somebody has looked', async () => {
    made = await makeApp({ now: '2027-03-30T02:00:00Z' })
    call = made.as('winemaker')
    const dosed = (await tasksOf('L01')).find((t) => t.step === 'post-so2')!
    expect(dosed.doses[0]).toMatchObject({ product: 'potassium metabisulphite', unit: 'g' })
    expect(dosed.doses[0]!.arithmetic).toMatch(/mg\/L SO2 x .* L \/ 570 = .* g/)
    expect(dosed.doseWas).toBeUndefined()

    await send([{ lot: 'L01', kind: 'pH', value: 3.6, takenAt: '2027-03-30T01:00:00Z' }])
    const changed = await taskAt(dosed.key)
    expect(changed.doses[0]!.amount, 'a higher pH asks for more').toBeGreaterThan(dosed.doses[0]!.amount)
    expect(changed.doseWas?.doses).toEqual(dosed.doses)

    made.setNow('2027-03-30T02:10:00Z')
    const looked = await made.as('hand')<{ task: TaskWire }>('POST', `/api/tasks/${dosed.key}/acknowledge`, {})
    expect(looked.status).toBe(200)
    expect(looked.body.task.doseWas).toBeUndefined()
    expect(looked.body.task.revision, 'looking changes nothing a calendar shows').toBe(changed.revision)

    made.setNow('2027-03-30T03:00:00Z')
    await send([{ lot: 'L01', kind: 'pH', value: 3.3, takenAt: '2027-03-30T02:30:00Z' }])
    expect((await taskAt(dosed.key)).doseWas?.doses).toEqual(changed.doses)
    const viewer = await made.as('viewer')('POST', `/api/tasks/${dosed.key}/acknowledge`, {})
    expect(viewer.status).toBe(403)
  })
})

describe('SO2 while malolactic is awaited', () => {
  beforeAll(async () => {
    made = await makeApp({ lots: ['L06'], now: '2027-04-20T02:00:00Z' })
    call = made.as('winemaker')
    const lot = await call<{ lot: { choices: Record<string, unknown>; version: number; choicesVersion: number } }>(
      'GET',
      '/api/lots/L06',
    )
    expect(lot.body.lot.choices).toMatchObject({ malolactic: 'after' })
  })

  it('is refused at the task, with what lifts the lock', async () => {
    const key = (await tasksOf('L06')).find((t) => t.step === 'post-so2')!.key
    for (const act of ['start', 'done']) {
      const answer = await call<ProblemBody>('POST', `/api/tasks/${key}/${act}`, {})
      expect(answer.status).toBe(409)
      expect(answer.body.type).toMatch(/malolactic-awaited/)
      expect(answer.body.detail).toMatch(/Measure malic under 0\.1 g\/L/)
    }
    expect((await taskAt(key)).state).not.toBe('done')
  })

  it('is kept and said when it has happened already', async () => {
    const key = (await tasksOf('L06')).find((t) => t.step === 'post-so2')!.key
    const additions = [{ product: 'potassium metabisulphite', amount: 20, unit: 'g', treatedL: 1000 }]
    const answer = await call<{ warnings: string[] }>('POST', `/api/tasks/${key}/note`, {
      note: 'by mistake',
      additions,
    })
    expect(answer.status).toBe(200)
    expect(answer.body.warnings.join()).toMatch(/awaits malolactic/)
  })

  it('is free once malic is measured gone', async () => {
    const key = (await tasksOf('L06')).find((t) => t.step === 'post-so2')!.key
    await send([{ lot: 'L06', kind: 'malic', value: 0.05, takenAt: '2027-04-20T01:00:00Z' }])
    expect((await call('POST', `/api/tasks/${key}/start`, {})).status).toBe(200)
  })
})

describe('the SO2 of a lot', () => {
  it('counts from the last measurement, and stands beside the limits with their source', async () => {
    made = await makeApp({ now: '2027-04-20T02:00:00Z' })
    call = made.as('winemaker')
    interface So2 {
      readonly totalMgPerL: number
      readonly step: string
      readonly limits: readonly {
        regime: string
        limitMgPerL: number
        roomMgPerL: number
        source: string
        note: string
        memory: boolean
      }[]
    }
    const so2 = async () => (await call<{ so2?: So2 }>('GET', '/api/lots/L01')).body.so2
    expect(await so2()).toBeUndefined()
    await send([
      { lot: 'L01', kind: 'total-so2', value: 70, takenAt: '2027-04-19T01:00:00Z' },
      { lot: 'L01', kind: 'glucose-fructose', value: 1.5, takenAt: '2027-04-19T01:00:00Z' },
    ])
    // 100 g of metabisulphite, 57.6 % SO2 by formula, in 1000 L: 57.6 mg/L.
    const additions = [{ product: 'potassium metabisulphite', amount: 100, unit: 'g', treatedL: 1000 }]
    await call('POST', '/api/tasks/L01/rack-gross/1/note', { note: 'beside the plan', additions })
    const now = (await so2())!
    expect(now.totalMgPerL).toBe(128)
    expect(now.step).toMatch(/^measured 70 mg\/L \+ 57\.[56]/)
    const of = (regime: string) => now.limits.find((l) => l.regime === regime)!
    // Reg. (EU) 2019/934: 200 for a dry white; 203/2012: 150 under 2 g/L; 27 CFR 4.22: 350.
    expect([of('eu').limitMgPerL, of('eu-organic').limitMgPerL, of('us').limitMgPerL]).toEqual([200, 150, 350])
    expect(of('eu').roomMgPerL).toBe(72)
    expect(of('oiv').memory).toBe(true)
    for (const limit of now.limits) expect(limit.note).toMatch(/check your own rules/)
  })
})

describe('cold and air', () => {
  interface Demand {
    readonly poolKW: number
    readonly hours: readonly { at: string; coolingKW: number; co2M3PerH: number; freshAirM3PerH: number }[]
    readonly limits: readonly { id: string; value: number; source: string; memory: boolean }[]
  }
  beforeAll(async () => {
    made = await makeApp({ now: '2027-03-15T02:30:00Z' })
    call = made.as('viewer')
  })

  it('are told for each hour of a week against the chillers, with the limits and their documents', async () => {
    const { status, body } = await call<Demand>('GET', '/api/demand')
    expect(status).toBe(200)
    expect(body.hours).toHaveLength(168)
    expect(body.hours[0]!.at).toBe('2027-03-15T02:00:00Z')
    expect(body.poolKW).toBeGreaterThan(0)
    expect(Math.max(...body.hours.map((h) => h.co2M3PerH)), 'L01 ferments in this week').toBeGreaterThan(0.1)
    expect(Math.max(...body.hours.map((h) => h.coolingKW))).toBeGreaterThan(0.1)
    expect(body.limits.find((l) => l.id === 'co2-osha')).toMatchObject({ value: 5000, memory: false })
    for (const limit of body.limits) expect(limit.source).not.toBe('')
  })

  it('refuse a span that is empty or longer than a month', async () => {
    const from = '2027-03-15T00:00:00Z'
    expect((await call('GET', `/api/demand?from=${from}&to=2027-05-15T00:00:00Z`)).status).toBe(422)
    expect((await call('GET', `/api/demand?from=${from}&to=${from}`)).status).toBe(422)
  })
})
