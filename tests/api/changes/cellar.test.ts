/** Changes 9, 10, 18 and 23 to 25: cold, tanks, malolactic, people, late entries, the bottler. */
import { beforeAll, describe, expect, it, vi } from 'vitest'
import type { PersonWire, TaskWire } from '../../../api/wire.ts'
import { type Demo, local, makeDemo, wall } from '../demo.ts'
import { dayOf, daysBetween, OPEN, type Story, storyOf } from './story.ts'

// Each lives through a vintage and plans the whole cellar several times: seconds alone, minutes on a busy machine.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 300_000 })

let cellar: Demo

beforeAll(async () => {
  cellar = await makeDemo()
})

/** Each story on the same morning of Mon 22 March 2027, and taken back. */
const tells = (words: string, story: (told: Story) => Promise<void>) =>
  it(words, () => cellar.aside((demo) => story(storyOf(demo))))

describe('9: the chiller fails', () => {
  tells('pauses chilling and cold work until it is back, and says which ferment warms first', async (told) => {
    const [fromAt, toAt] = [wall('2027-03-22T07:00'), wall('2027-03-23T07:00')]
    expect((await told.bookMachine('CH', fromAt, toAt, 'compressor')).status).toBe(200)
    const cold = (await told.open()).filter((t) => t.machines.includes('CH') && t.state !== 'underway')
    expect(cold.filter((t) => t.startAt < toAt && t.endAt > fromAt).map((t) => [t.key, local(t.startAt)])).toEqual([])
    // Read every two hours while somebody is on shift, beside the rounds of 07:00 and 17:00; none once it is back.
    const outage = (await told.open('L12')).filter((t) => t.detail.startsWith('the cold is away'))
    expect(outage.map((t) => Math.round(Date.parse(t.startAt) / 3_600_000 - Date.parse(fromAt) / 3_600_000))).toEqual([
      2, 4, 6, 8, 12, 14,
    ])
    expect(outage.every((t) => t.people.length === 1)).toBe(true)
    expect((await told.open('L03')).some((t) => t.detail.startsWith('the cold is away'))).toBe(false)
    // The pool is gone in those hours: all that ferments ask for is short.
    const { hours: demand } = (
      await told.lead<{ hours: { coolingKW: number; shortKW: number }[] }>(
        'GET',
        `/api/demand?from=${fromAt}&to=${wall('2027-03-22T12:00')}`,
      )
    ).body
    expect(demand.some((h) => h.coolingKW > 0)).toBe(true)
    for (const h of demand) expect(h.shortKW).toBeCloseTo(h.coolingKW, 1)
    const answer = (await told.lead<{ table: { rows: { cells: string[] }[] } }>('GET', '/api/answers/warms-first')).body
    const hours = answer.table.rows.map((r) => Number.parseFloat(r.cells[2]!))
    expect(hours.length).toBeGreaterThan(0)
    expect(hours).toEqual([...hours].sort((a, b) => a - b))
  })
})

describe('10: the tank is not empty, or too small', () => {
  tells('settles elsewhere when the tank is let, and refuses to overfill one', async (told) => {
    const settles = async () => (await told.lot('L04')).phases.find((p) => p.kind === 'settle')!
    const [first] = (await settles()).vessels.map((v) => v.code)
    expect(
      (await told.bookVessel(first!, wall('2027-03-24T00:00'), wall('2027-03-28T00:00'), 'still full of last year'))
        .status,
    ).toBe(200)
    const now = await settles()
    expect(now.vessels.map((v) => v.code)).not.toContain(first)
    // L04 settles 3,100 L. T05 holds 3,200 L, 95 % of it 3,040 L: too small, whatever a person wants.
    expect((await told.change('L04', { vesselPins: { settle: ['T05'] } })).status).toBe(200)
    expect((await settles()).vessels.map((v) => v.code)).not.toEqual(['T05'])
    expect((await told.broken()).some((b) => /L04/.test(b.words) && /T05/.test(b.words))).toBe(true)
  })
})

describe('18: malolactic begins by itself where it was refused', () => {
  tells('let it finish: SO2 after dryness goes, checks of malic acid come', async (told) => {
    const so2 = (tasks: readonly TaskWire[]) => tasks.filter((t) => t.step === 'post-so2' && OPEN.includes(t.state))
    const before = await told.lot('L12')
    expect(so2(before.tasks).length).toBeGreaterThan(0)
    const want = { malolactic: 'allow', firstSo2: 'after-malolactic' }
    const first = await told.choose('L12', want)
    if (first.status === 422) {
      const conflicts = (first.body as unknown as { conflicts: { id: string }[] }).conflicts
      const signed = conflicts.map((c) => ({ conflict: c.id, reason: 'it has begun by itself' }))
      expect((await told.choose('L12', want, signed)).status).toBe(200)
    }
    const after = await told.lot('L12')
    const checks = after.tasks.filter((t) => /^mlf-/.test(t.step) && OPEN.includes(t.state))
    expect(checks.length).toBeGreaterThan(0)
    const gone = after.tasks.find((t) => t.step === 'mlf-done' && OPEN.includes(t.state))
    if (gone)
      for (const t of so2(after.tasks)) expect(Date.parse(t.startAt)).toBeGreaterThanOrEqual(Date.parse(gone.startAt))
    expect(Date.parse(so2(after.tasks)[0]!.startAt)).toBeGreaterThan(Date.parse(so2(before.tasks)[0]!.startAt))
  })
})

describe('18: the other road, to block it', () => {
  tells('a report asks for malic each week; SO2 and cold stay where they are planned', async (told) => {
    const before = new Map((await told.open('L12')).map((t) => [t.key, t.startAt]))
    expect((await told.trouble({ kind: 'malolactic', lot: 'L12' }, 'noor')).status).toBe(201)
    const after = await told.open('L12')
    const weekly = after.filter((t) => /mlf-check\/8\d{3}$/.test(t.key)).map((t) => t.startAt)
    // Mon 22 and 29 March, 5 and 12 April, each within a day.
    expect(weekly.map((at) => daysBetween(wall('2027-03-22T06:30'), at))).toEqual([0, 7, 14, 21])
    for (const step of ['post-so2', 'mlf-block'])
      for (const t of after.filter((x) => x.step === step))
        expect([t.key, before.get(t.key)]).toEqual([t.key, t.startAt])
    expect(after.some((t) => t.step === 'mlf-block')).toBe(true)
  })
})

describe('23: somebody does not come', () => {
  tells(
    're-deals the day by skill; a job of two is never halved; what nobody can do needs a decision',
    async (told) => {
      const before = (await told.open()).filter((t) => dayOf(t.startAt) === '03-22')
      expect((await told.away('alex', wall('2027-03-22T06:30'), wall('2027-03-22T18:00'))).status).toBe(201)
      const after = await told.open()
      const theirs = after.filter(
        (t) =>
          t.people.includes('alex') &&
          t.crew > 0 &&
          t.state !== 'underway' &&
          dayOf(t.startAt) === '03-22' &&
          local(t.startAt) < '03-22 18:00',
      )
      expect(theirs.map((t) => t.key)).toEqual([])
      const rules = await told.broken()
      // Two who must be two: half a crew is never passed over in silence, and a permit job is not done by one at all.
      const halved = after.filter((t) => t.crew === 2 && t.people.length === 1)
      for (const t of halved) expect([t.key, rules.some((b) => b.taskKeys.includes(t.key))]).toEqual([t.key, true])
      expect(halved.filter((t) => t.step === 'permit-entry')).toEqual([])
      // Of what Alex had today, each has other hands, another day, or is named as broken.
      const now = new Map(after.map((t) => [t.key, t]))
      const broken = new Set(rules.flatMap((b) => b.taskKeys))
      for (const t of before.filter((b) => b.people.includes('alex') && b.crew > 0)) {
        const next = now.get(t.key)
        expect([t.key, next === undefined || next.people.length > 0 || broken.has(t.key)]).toEqual([t.key, true])
      }
    },
  )
})

describe('23: and is back sooner', () => {
  tells('has work again from then on; what the absence broke and can still be done is whole again', async (told) => {
    const sign = (b: { rule: string; taskKeys: string[] }) => [b.rule, ...b.taskKeys].join(' ')
    const hard = async () => (await told.broken()).filter((b) => b.strength === 'hard')
    const known = new Set((await hard()).map(sign))
    // Nobody but Alex decides: away until Friday evening, what waits for a decision has nobody.
    expect((await told.away('alex', wall('2027-03-22T06:30'), wall('2027-03-26T18:00'))).status).toBe(201)
    const brought = (await hard()).filter((b) => !known.has(sign(b)))
    expect(brought.map((b) => b.words)).toContain('nobody with decides is free for L04 book the pick')
    // Told in the same morning: back at ten. L04 is picked on Wednesday; two days are left to book it.
    const { people } = (await told.lead<{ people: PersonWire[] }>('GET', '/api/people')).body
    const { version, absences } = people.find((p) => p.id === 'alex')!
    const back = await told.lead('PUT', `/api/people/alex/absences/${absences[0]!.id}`, {
      toAt: wall('2027-03-22T10:00'),
      version,
    })
    expect([back.status, back.text]).toEqual([200, back.text])
    expect((await hard()).filter((b) => !known.has(sign(b))).map((b) => b.words)).toEqual([])
    const now = new Map((await told.tasks()).map((t) => [t.key, t]))
    const booked = now.get('L04/book-pick/1')!
    expect([booked.people, booked.startAt >= wall('2027-03-22T10:00')]).toEqual([['alex'], true])
    // Their work of the week: without the return it would be none before Saturday.
    const theirs = [...now.values()].filter(
      (t) => t.people.includes('alex') && t.state === 'planned' && t.startAt < wall('2027-03-26T18:00'),
    )
    expect(theirs.length).toBeGreaterThan(0)
    // Whoever was told of work for today or tomorrow is asked before it moves.
    const asked = (
      await told.lead<{ open: { because: string } | null; earlier: { because: string }[] }>('GET', '/api/proposals')
    ).body
    expect(asked.open?.because).toBe('Alex is back sooner')
  })
})

describe('the work of a full week', () => {
  tells('is dealt so that nobody has less than half or more than one and a half of an even share', async (told) => {
    // Mon 22 to Sun 28 March. What only one may do (decide, the laboratory) keeps it from being even.
    const { table } = (
      await told.lead<{ table: { rows: { cells: string[] }[] } }>('GET', '/api/answers/load?on=2027-03-22&days=7')
    ).body
    const hours = table.rows.map(({ cells }) => cells.slice(1).reduce((sum, c) => sum + (Number.parseFloat(c) || 0), 0))
    const even = hours.reduce((a, b) => a + b, 0) / hours.length
    expect(hours).toHaveLength(6)
    for (const [i, h] of hours.entries())
      expect([table.rows[i]!.cells[0], h > even * 0.5, h < even * 1.5]).toEqual([table.rows[i]!.cells[0], true, true])
  })
})

describe('24: something was forgotten, or told late', () => {
  tells('takes the real time and who; a missed round stays missed, and no reading is invented', async (told) => {
    const round = (await told.open('L12')).find((t) => t.step === 'check-ferment')!
    told.setNow('2027-03-22T20:00')
    const readings = async () =>
      (await told.lead<{ readings: unknown[] }>('GET', '/api/readings?lot=L12')).body.readings.length
    const before = await readings()
    expect((await told.as('ari')('POST', `/api/tasks/${round.key}/skip`, { reason: 'forgotten' })).status).toBe(200)
    expect(await readings()).toBe(before)
    expect((await told.task(round.key)).state).toBe('skipped')
    const late = (await told.open('L03')).find((t) => t.step === 'receive')!
    const at = wall('2027-03-22T09:05')
    expect(
      (await told.as('sam')('POST', `/api/tasks/${late.key}/done`, { startAt: wall('2027-03-22T07:45'), at })).status,
    ).toBe(200)
    const done = await told.task(late.key)
    expect(done).toMatchObject({ state: 'done', doneAt: at })
    expect(Date.parse(done.startAt)).toBe(Date.parse(wall('2027-03-22T07:45')))
    // Taken back by the one who told it: it is open again.
    expect((await told.as('sam')('POST', `/api/tasks/${late.key}/undo`, {})).status).toBe(200)
    expect((await told.task(late.key)).state).not.toBe('done')
  })
})

describe('25: the bottler moves the day', () => {
  tells(
    'slides the chain that is counted backward; where it is too near, it says what comes too late',
    async (told) => {
      // L01 is filled on Tue 27 July; four weeks later is Tue 24 August: release and membrane move by 28 days.
      const before = await told.lot('L01')
      const start = (tasks: readonly TaskWire[], key: string) =>
        tasks.find((t) => t.key === key && t.state !== 'cancelled')!.startAt
      expect((await told.choose('L01', { finishOn: '2027-08-24' })).status).toBe(200)
      const after = await told.lot('L01')
      expect(daysBetween(start(before.tasks, 'L01/release/1'), start(after.tasks, 'L01/release/1'))).toBe(28)
      const stability = daysBetween(
        start(before.tasks, 'L01/test-stability/1'),
        start(after.tasks, 'L01/test-stability/1'),
      )
      expect(stability).toBe(28)
      // Two weeks from now, with a ferment still going: nothing of the cold and the tests fits.
      expect((await told.choose('L01', { finishOn: '2027-04-06' })).status).toBe(200)
      const late = (await told.broken()).filter((b) => b.taskKeys.some((key) => key.startsWith('L01/')))
      expect(
        late.some((b) => b.rule === 'after-due' || b.rule === 'link-too-short' || b.rule === 'before-release'),
      ).toBe(true)
    },
  )
})
