import { describe, expect, it } from 'vitest'
import { berthOf, judgeVessel, vesselsFor } from '../../web/timeline/berth.ts'
import { layDays } from '../../web/timeline/days.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel } from '../../web/timeline/model.ts'
import { beginMove, isMoved, moveTo } from '../../web/timeline/move.ts'
import { ARRANGED, arrangeRows, type Row } from '../../web/timeline/rows.ts'
import { moveRules } from '../../web/timeline/rules.ts'
import { timeScale } from '../../web/timeline/scale.ts'
import { loadColumns } from '../../web/timeline/shade.ts'
import { judgeMove } from '../../web/timeline/verdict.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, machine, phase, plan, task, vessel } from './timeline-cases.ts'

const ZONE = 'Europe/Berlin'
/** Monday 15 March 2027, 08:00. */
const T0 = Date.UTC(2027, 2, 15, 7)
const days = layDays(T0 - 20 * DAY, T0 + 60 * DAY, ZONE)

const cellar = plan(
  [
    task('L01/rack/1', T0 + DAY, 2, { fromVessels: ['T01'], toVessels: ['T02'], machines: ['P1'] }),
    task('L02/press/1', T0, 3, { machines: ['PA'], toVessels: ['T03'] }),
    task('L02/read/1', T0 + 2 * DAY, 1),
  ],
  [
    phase('L01', 'settle', T0, T0 + DAY),
    phase('L01', 'ferment', T0 + DAY, T0 + 15 * DAY, { vessels: [{ code: 'T02', kind: 'tank' }], volumeL: 4000 }),
    phase('L02', 'ferment', T0, T0 + 12 * DAY, { vessels: [{ code: 'T03', kind: 'tank' }], volumeL: 5000 }),
    phase('L03', 'lees', T0, T0 + 30 * DAY, {
      vessels: [
        { code: 'B1', kind: 'barrel' },
        { code: 'B2', kind: 'barrel' },
      ],
    }),
  ],
  {
    vessels: [
      vessel('T01', 6000),
      vessel('T02', 5000),
      vessel('T03', 6000),
      vessel('T04', 3000),
      vessel('T10', 4500, { bookings: [{ fromAt: iso(T0 + 5 * DAY), toAt: iso(T0 + 6 * DAY), why: 'new valve' }] }),
      vessel('B1', 225, { kind: 'barrel' }),
      vessel('B2', 225, { kind: 'barrel' }),
      vessel('B3', 225, { kind: 'barrel' }),
    ],
    machines: [machine('PA', 'press'), machine('P1', 'pump'), machine('P2', 'pump')],
  },
)
const model = buildModel(cellar)
const rules = moveRules(model, days, wordsFor('en', ZONE), T0)

describe('another vessel', () => {
  const berth = berthOf(model, 0)
  if (!berth) throw new Error('the racking fills a tank')

  it('is one for the stay that the task begins, of the size for it', () => {
    expect(berth.hold).toBe('ferment')
    expect(berth.phase.vessels).toEqual(['T02'])
    // Half of 4,000 L is the least that is offered.
    expect(vesselsFor(model, berth)).toEqual(['T01', 'T02', 'T03', 'T04', 'T10'])
    expect(berthOf(model, 2)).toBeUndefined()
  })

  it('is refused where it is too small, full, or booked, with the reason', () => {
    const judge = (code: string) => judgeVessel(rules, berth, code, T0 + DAY)
    expect(judge('T04')?.words).toBe('T04 holds 3,000 L, the lot is 4,000 L.')
    expect(judge('T03')).toMatchObject({ level: 'no', nearestMs: T0 + 12 * DAY })
    expect(judge('T03')?.words).toContain('L02 is fermenting in T03')
    expect(judge('T10')?.words).toContain('new valve')
    // The lot itself leaves the first tank as it goes.
    expect(judge('T01')).toBeUndefined()
  })

  it('is a move, judged with the rest of it, and no longer by the vessel it leaves', () => {
    const begun = beginMove(rules, 0)
    const moved = moveTo(rules, begun, begun.startMs, undefined, 'T01')
    expect(isMoved(moved, model)).toBe(true)
    expect(moved.verdict.level).toBe('fine')
    const booked = buildModel({
      ...cellar,
      vessels: cellar.vessels.map((v) =>
        v.code === 'T02' ? { ...v, bookings: [{ fromAt: iso(T0), toAt: iso(T0 + 9 * DAY), why: 'relining' }] } : v,
      ),
    })
    const wish = { ix: 0, startMs: T0 + DAY, andFollows: true }
    const strict = moveRules(booked, days, wordsFor('en', ZONE), T0)
    expect(judgeMove(strict, wish).words).toContain('relining')
    expect(judgeMove(strict, { ...wish, vessel: 'T01' }).level).toBe('fine')
  })
})

describe('rows by vessel and by machine', () => {
  const labels = (rows: readonly Row[]) => rows.map((r) => `${r.label}: ${r.note}`)

  it('are every tank in the order of its number, and barrels that go together once', () => {
    expect(labels(arrangeRows(model, { ...ARRANGED, by: 'vessel' }, T0))).toEqual([
      'T01: 6,000 L tank',
      'T02: 5,000 L tank',
      'T03: 6,000 L tank',
      'T04: 3,000 L tank',
      'T10: 4,500 L tank',
      'B1 and 1 more: 2 barrels',
    ])
  })

  it('carry the work that touches them: a racking stands in both tanks', () => {
    const rows = arrangeRows(model, { ...ARRANGED, by: 'vessel' }, T0)
    expect(rows.filter((r) => r.tasks.ix.includes(0)).map((r) => r.label)).toEqual(['T01', 'T02'])
    expect(rows.find((r) => r.label === 'T10')?.shut).toHaveLength(1)
  })

  it('leave out machines that nobody uses', () => {
    expect(arrangeRows(model, { ...ARRANGED, by: 'machine' }, T0).map((r) => r.label)).toEqual(['PA', 'P1'])
  })

  it('show one alone', () => {
    expect(arrangeRows(model, { ...ARRANGED, by: 'vessel', only: 'T03' }, T0).map((r) => r.label)).toEqual(['T03'])
  })
})

describe('the strip of loads', () => {
  const hour = (h: number, coolingKW: number) => ({ at: iso(T0 + h * HOUR), coolingKW })
  const columns = (poolKW: number) =>
    loadColumns(
      days,
      timeScale(T0, T0 + 3 * DAY, 900),
      layLoad(model, days, { poolKW, hours: [hour(0, 6), hour(5, 14), hour(30, 21), hour(31, 3)] }),
    )

  it('shows the worst hour of each day against what the chillers give', () => {
    // Monday 14 of 20 kW, Tuesday 21 of 20.
    expect(columns(20).map((c) => c.coldShare)).toEqual([0.7, 1.05, 0, 0])
  })

  it('calls any cooling short where there is no chiller', () => {
    expect(columns(0).map((c) => c.coldShare)).toEqual([2, 2, 0, 0])
  })

  it('counts the hours of a press on the day it starts, and of no pump', () => {
    expect(columns(20).map((c) => c.pressH)).toEqual([3, 0, 0, 0])
  })
})
