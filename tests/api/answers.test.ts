import { beforeAll, describe, expect, it } from 'vitest'
import type { MachineWire } from '../../api/wire.ts'
import { type Demo, local, makeDemo, wall } from './demo.ts'
import type { Call, ProblemBody } from './make.ts'

interface Told {
  readonly verdict?: string
  readonly sentences: readonly string[]
  readonly table?: { readonly head: readonly string[]; readonly rows: readonly { cells: string[]; taskKey?: string }[] }
  readonly tried?: readonly unknown[]
}

let demo: Demo
let call: Call

beforeAll(async () => {
  // The evening before the Saturday of the question: Fri 12 March, L02 just pressed.
  demo = await makeDemo('2027-03-12T17:30')
  call = demo.as('kim')
})

const ask = async (question: string, fields: Record<string, string | number> = {}) => {
  const query = new URLSearchParams(Object.entries(fields).map(([k, v]): [string, string] => [k, String(v)]))
  const answer = await call<Told>('GET', `/api/answers/${question}?${query}`)
  expect(answer.text).toContain('sentences')
  return answer.body
}
const said = (answer: Told) => answer.sentences.join('\n')

describe('asking the invented cellar', () => {
  it('can we take 12 more tonnes on Saturday: two loads of 6 t on PA, 8,640 L, Sam is off', async () => {
    // Destemmed fruit fills PA with 6.0 t at most: 12 t are two loads. L12 gives 720 L/t: 12 x 720 = 8,640 L.
    // Saturday is Sam's day off. A load is 2.5 h of program: two are 5 h of pressing.
    const answer = await ask('take-more', { lot: 'L12', on: '2027-03-13', tonnes: 12 })
    expect(answer.sentences[0]).toMatch(/^12 t like L12 on Sat 13 Mar: 2 loads of 6 t on PA, 5 h of pressing/)
    expect(said(answer)).toContain('8,640 L of juice')
    expect(said(answer)).toContain('Off that day: Sam.')
    expect(said(answer)).toMatch(/The first truck is received at Sat 13 Mar/)
    expect(said(answer)).toMatch(/The most cold asked for in an hour is [\d.]+ kW/)
    expect(answer.tried).toEqual([{ kind: 'more-fruit', like: 'L12', code: 'L13', on: '2027-03-13', tonnes: 12 }])
  })

  it('what if we press L03 on Tuesday instead: Kim is back, Robin is off, and the chain follows by a day', async () => {
    // Picked on Mon 22 March in the story. Tuesday: Robin's day off; Kim's is Monday.
    const before = local((await demo.task('L03/press/1')).startAt)
    const answer = await ask('press-on', { lot: 'L03', on: '2027-03-23' })
    expect(answer.sentences[0]).toBe('L03 on Tue 23 Mar instead of Mon 22 Mar.')
    expect(answer.sentences[1]).toBe('Off that day: Robin.')
    const press = answer.table!.rows.find((r) => r.taskKey === 'L03/press/1')!
    expect(before.slice(0, 5)).toBe('03-22')
    expect(press.cells[2]).toMatch(/^Tue 23 Mar/)
    // Asking changes nothing.
    expect(local((await demo.task('L03/press/1')).startAt)).toBe(before)
  })

  it('what happens if Kim is sick tomorrow: nothing of Saturday stays with Kim', async () => {
    const theirs = (await demo.tasks()).filter(
      (t) => t.people.includes('kim') && t.crewMin > 0 && local(t.startAt).startsWith('03-13') && t.state !== 'done',
    )
    expect(theirs.length).toBeGreaterThan(0)
    const answer = await ask('sick', { person: 'kim', on: '2027-03-13' })
    expect(answer.table!.rows.map((r) => r.taskKey).sort()).toEqual(theirs.map((t) => t.key).sort())
    const stillHers = answer.table!.rows.filter((r) => /Kim/.test(r.cells[3]!) && /Sat 13 Mar/.test(r.cells[2]!))
    expect(stillHers).toEqual([])
  })

  it('which tank is free on Thursday 18 March for 6,200 L: never one that is taken then, or too full', async () => {
    const answer = await ask('free-tank', { on: '2027-03-18', volumeL: 6200 })
    // T09 holds L12 from its ferment on 17 March; 6,500 L tanks would be 95.4 % full.
    const named = answer.sentences[0]!.match(/T\d\d/g) ?? []
    expect(named).not.toContain('T09')
    for (const small of ['T01', 'T02', 'T03', 'T04']) expect(named).not.toContain(small)
    expect(named.every((code) => ['T10', 'T11'].includes(code))).toBe(true)
    expect(said(answer)).toContain('95.4 % full')
  })

  it('is the plan possible: the first broken rule it names is the earliest the plan has', async () => {
    const answer = await ask('possible')
    const plan = (await call<{ broken: { strength: string; words: string; taskKeys: string[] }[] }>('GET', '/api/plan'))
      .body
    const tasks = new Map((await demo.tasks()).map((t) => [t.key, t]))
    const open = plan.broken.filter(
      (b) =>
        b.strength === 'hard' &&
        b.taskKeys.some((key) => !['done', 'skipped', 'cancelled'].includes(tasks.get(key)?.state ?? 'done')),
    )
    expect(answer.verdict).toBe(open.length === 0 ? 'yes' : 'no')
    expect(answer.table?.rows.filter((r) => r.cells[1] === 'rule').length ?? 0).toBe(Math.min(open.length, 40))
  })

  it('what is the last day to pick L07 for 3 August: not before the planned pick, with room to spare', async () => {
    // L07 is picked on 30 March and released on 2 August; four months lie between, the wine needs some six weeks less.
    const answer = await ask('last-pick', { lot: 'L07', on: '2027-08-03' })
    expect(answer.verdict).toBe('yes')
    expect(answer.sentences[1]).toMatch(/^It is planned for Tue 30 Mar: \d+ days of slack\.$/)
  })

  it('why does the reception of L12 stand there: no fruit is on the pad before the day it is picked', async () => {
    // L12 is picked by machine from 02:00 of Tue 16 March; the first truck is on the scale two and a half hours later.
    const answer = await ask('why-then', { task: 'L12/receive/1' })
    expect(answer.sentences[0]).toMatch(/^L12 weigh and receive fruit \(load 1\) stands on Tue 16 Mar/)
    expect(answer.sentences[2]).toMatch(/L12 is picked on Tue 16 Mar|works 0\d:\d\d|follows|comes after/)
    const rows = answer.table!.rows.filter((r) => r.cells[0] === 'not earlier')
    expect(rows.length).toBeGreaterThan(0)
  })

  it('what is in the way where both big presses are let on L12’s day, and what a way out costs', () =>
    demo.aside(async (here) => {
      // Twelve tonnes of machine fruit must be in a press within six hours; PA and PB are let all Tuesday.
      const lead = here.as('alex')
      const kept = (await here.as('kim')<Told>('GET', '/api/answers/ways-out')).body
      expect([kept.verdict, kept.sentences]).toEqual([
        'yes',
        ['Every hard rule is kept: there is nothing to get out of.'],
      ])
      for (const id of ['PA', 'PB']) {
        const { machines } = (await lead<{ machines: MachineWire[] }>('GET', '/api/machines')).body
        const { code, kind, name, capacity, bookings, version } = machines.find((m) => m.id === id)!
        const booking = { fromAt: wall('2027-03-16T00:00'), toAt: wall('2027-03-17T00:00'), why: 'let to a neighbour' }
        const body = { code, kind, name, capacity, version, bookings: [...bookings, booking] }
        expect((await lead('PUT', `/api/machines/${id}`, body)).status).toBe(200)
      }
      const answer = (await here.as('kim')<Told>('GET', '/api/answers/ways-out')).body
      expect(answer.sentences[0]).toMatch(/^Broken: .*L12/)
      expect(answer.verdict).toBe('with-changes')
      // A day later the presses are free again: it costs one day and no wine.
      const day = answer.table!.rows.find((r) => r.cells[0] === 'pick L12 on Wed 17 Mar')!
      expect(day.cells.slice(1, 3)).toEqual(['1', '0'])
      expect(answer.table!.rows.filter((r) => !r.cells[0]!.includes('does not help')).length).toBeGreaterThanOrEqual(2)
      expect(said(answer)).not.toMatch(/impossible/i)
    }))

  it.each([
    ['cooling-for', { volumeL: 8640, byC: 6, inH: 12, at: wall('2027-03-13T12:00') }, /asks for 4\.7 kW/],
    ['who-tops', { row: 'B', on: '2027-04-09' }, /row B/],
    ['when-dry', { lot: 'L01' }, /^L01 is likely dry on/],
    ['stop-chill', { lot: 'L07' }, /^L07 is to stop at 22 g\/L/],
    ['why-moved', { task: 'L03/press/1' }, /L03 press/],
    ['before-home', {}, /the next shift(?: begins)?, Sat 13 Mar 05:00/],
    ['cleaning', { on: '2027-03-15' }, /Mon 15 Mar/],
    ['load', { on: '2027-03-13', days: 7 }, /has most/],
    ['hurts-next', {}, /next week|T11 is the only cold tank/],
  ] as const)('answers %s', async (question, fields, words) => {
    expect(said(await ask(question, fields))).toMatch(words)
  })

  it('lists what can be asked, and says what is missing, unknown or far off', async () => {
    const { questions } = (await call<{ questions: { id: string }[] }>('GET', '/api/answers')).body
    expect(questions.length).toBeGreaterThanOrEqual(17)
    const no = async (path: string) => {
      const { status, body } = await call<ProblemBody>('GET', path)
      return [status, body.errors?.[0]?.pointer ?? body.type]
    }
    expect(await no('/api/answers/free-tank?on=2027-03-18')).toEqual([422, '#query/volumeL'])
    expect(await no('/api/answers/when-dry?lot=L99')).toEqual([422, '#query/lot'])
    expect(await no('/api/answers/weather')).toEqual([404, 'unknown-question'])
    expect(await no('/api/answers/free-tank?on=9999-01-01&volumeL=100')).toEqual([422, '#query/on'])
    expect((await demo.as('kim')('GET', '/api/answers/load')).status).toBe(200)
  })
})
