import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Placed, Plan, Problem } from '../../api/schedule/types.ts'
import { judge, reported } from './checker.ts'
import { at, DAY, days, HOUR, link, person, problem, task, unit } from './make.ts'

/** An hour of work that only its day is planned of. */
const daily = (key: string, more: Parameters<typeof task>[1] = {}) => task(key, { byDay: true, ...more })

function planned(asked: Problem): { readonly plan: Plan; readonly of: (key: string) => Placed } {
  const plan = schedule(asked)
  const { violated, absurd } = judge(asked, plan)
  expect(absurd).toEqual([])
  expect(reported(plan)).toEqual(violated)
  return { plan, of: (key) => plan.placed.find((p) => p.key === key)! }
}

const dayOf = (p: Placed) => Math.floor(p.startMin / DAY)

describe('work that is planned to the day', () => {
  it('names nobody, books no machine, and may overlap on its day', () => {
    // Two people from 8 to 17 give 18 h a day. Three pieces of 6 h ask for 18 h and all stand on the first day, at 8.
    const { plan, of } = planned(
      problem({
        tasks: ['A/a', 'B/b', 'C/c'].map((key) => daily(key, { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR })),
        people: [person('ana'), person('ben')],
      }),
    )
    expect(plan.broken).toEqual([])
    for (const key of ['A/a', 'B/b', 'C/c'])
      expect(of(key)).toMatchObject({ startMin: at(0, 8), people: [], units: [], byDay: true })
  })

  it('goes to the next day with hands left, and says which day was full', () => {
    // A fourth piece of 6 h would make 24 h of 18 h: it goes to the second day.
    const { of } = planned(
      problem({
        tasks: ['A/a', 'B/b', 'C/c', 'D/d'].map((key) => daily(key, { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR })),
        people: [person('ana'), person('ben')],
      }),
    )
    expect(['A/a', 'B/b', 'C/c', 'D/d'].map((key) => dayOf(of(key)))).toEqual([0, 0, 0, 1])
    expect(of('D/d').startMin).toBe(at(1, 8))
    // The three that fill it take 6 h = 360 min each.
    const fills = ['A/a', 'B/b', 'C/c'].map((key) => ({ key, minutes: 360 }))
    expect(of('D/d').notEarlier[0]).toEqual({ kind: 'day', ref: 'hands', dayMin: 0, fills })
  })

  it('takes what work by the minute has left', () => {
    // Ana works 9 h a day. 5 h by the minute leave 4 h: 4 h by the day fit, a further hour goes to the next day.
    const { of } = planned(
      problem({
        tasks: [
          task('A/a', { elapsedMin: 5 * HOUR, crewMin: 5 * HOUR }),
          daily('B/b', { elapsedMin: 4 * HOUR, crewMin: 4 * HOUR }),
          daily('C/c'),
        ],
      }),
    )
    expect(of('A/a')).toMatchObject({ startMin: at(0, 8), people: ['ana'] })
    expect(dayOf(of('B/b'))).toBe(0)
    expect(dayOf(of('C/c'))).toBe(1)
    // The work by the minute fills the day as well as the work by the day; the largest is told first.
    expect(of('C/c').notEarlier[0]!.fills).toEqual([
      { key: 'A/a', minutes: 300 },
      { key: 'B/b', minutes: 240 },
    ])
  })

  it('asks for each skill by itself', () => {
    // Ben alone presses, 9 h a day. Two presses of 5 h are 10 h of 9 h, though both people together have 18 h.
    const press = { elapsedMin: 5 * HOUR, crewMin: 5 * HOUR, skills: ['press'] }
    const { of } = planned(
      problem({
        tasks: [daily('A/a', press), daily('B/b', press)],
        people: [person('ana'), person('ben', ['press'])],
      }),
    )
    expect([dayOf(of('A/a')), dayOf(of('B/b'))]).toEqual([0, 1])
    const fills = [{ key: 'A/a', minutes: 300 }]
    expect(of('B/b').notEarlier[0]).toMatchObject({ kind: 'day', ref: 'skill press', fills })
  })

  it('counts an absence, and a crew of two twice', () => {
    // Ben is away on the first day: 9 h of Ana. Two people for 5 h ask for 10 h, so it is the second day (18 h).
    const { of } = planned(
      problem({
        tasks: [daily('A/a', { crew: 2, elapsedMin: 5 * HOUR, crewMin: 5 * HOUR })],
        people: [person('ana'), person('ben', [], 'late')],
        calendars: { day: days(8, 17), late: days(8, 17).slice(1) },
      }),
    )
    expect(dayOf(of('A/a'))).toBe(1)
  })

  it('takes machine time out of the pool: its machines go one at a time, and a booked one is not there', () => {
    // Two pumps have 48 h a day, one of them is away on the first: 24 h. Runs of 20 h by themselves: one, then two a day.
    const run = { elapsedMin: 20 * HOUR, crew: 0, crewMin: 0, uses: [{ pool: 'pump', amount: 1 }] }
    const { plan, of } = planned(
      problem({
        tasks: [daily('A/a', run), daily('B/b', run)],
        units: [unit('P1', 'pump'), unit('P2', 'pump', { booked: [{ fromMin: 0, toMin: DAY, why: 'away' }] })],
      }),
    )
    expect(plan.broken).toEqual([])
    expect(of('A/a').startMin).toBe(0)
    expect(of('B/b').startMin).toBe(DAY)
    const fills = [{ key: 'A/a', minutes: 20 * HOUR }]
    expect(of('B/b').notEarlier[0]).toEqual({ kind: 'day', ref: 'pool pump', dayMin: 0, fills })
  })

  it('splits work that pauses over its days', () => {
    // 12 h of Ana: 9 h on the first day, 3 h on the second, which leaves 6 h there: 7 h more go to the third.
    const { of } = planned(
      problem({
        tasks: [
          daily('A/a', { elapsedMin: 12 * HOUR, crewMin: 12 * HOUR, interruptible: true, weight: 9 }),
          daily('B/b', { elapsedMin: 7 * HOUR, crewMin: 7 * HOUR, releaseMin: at(1, 8) }),
        ],
      }),
    )
    expect(of('A/a')).toMatchObject({ startMin: at(0, 8), endMin: at(1, 11), crewEndMin: at(1, 11) })
    expect(dayOf(of('B/b'))).toBe(2)
  })

  it('keeps lags to the minute', () => {
    const { of } = planned(problem({ tasks: [daily('A/a'), daily('A/b')], links: [link('A/a', 'A/b', 25 * HOUR)] }))
    // It ends at 9, 25 h later it is 10 on the second day.
    expect(of('A/b').startMin).toBe(at(1, 10))
  })

  it('says so where a day is asked for more than it has and there is no way out', () => {
    // Both must start on the first day, until noon: 12 h of Ana's 9 h are 3 h too many.
    const both = { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR, dueMin: at(0, 12) }
    const { plan } = planned(problem({ tasks: [daily('A/a', both), daily('B/b', both)], horizonMin: 2 * DAY }))
    expect(plan.broken).toEqual([
      { rule: 'day-full', strength: 'hard', tasks: ['A/a', 'B/b'], ref: 'hands', dayMin: 0, by: 3 * HOUR },
    ])
  })

  it('leaves the day to its work where something that takes no hands began before and has not ended', () => {
    // Ana has 9 h on the first day; the mark was set at 8 and takes none of them, though it is noon and nobody ended it.
    const mark = daily('M/m', {
      elapsedMin: 0,
      crewMin: 0,
      started: { startMin: at(0, 8), people: ['ana'], units: [] },
    })
    const work = daily('A/a', { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR, dueMin: at(0, 12) })
    const { plan } = planned(problem({ tasks: [mark, work], nowMin: at(0, 12), horizonMin: 2 * DAY }))
    expect(plan.broken.filter((b) => b.rule === 'day-full')).toEqual([])
  })

  it('counts in local days: one of 23 h is short an hour of night', () => {
    // Midnights at 0, 23 h, 47 h. Ana's second shift begins at 8 local time, at minute 23 h + 8 h.
    const { of } = planned(
      problem({
        days: [0, 23 * HOUR, 47 * HOUR, 71 * HOUR],
        tasks: ['A/a', 'B/b'].map((key) => daily(key, { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR })),
        calendars: {
          day: [
            [7 * HOUR, 16 * HOUR],
            [31 * HOUR, 40 * HOUR],
          ],
        },
      }),
    )
    expect([of('A/a').startMin, of('B/b').startMin]).toEqual([7 * HOUR, 31 * HOUR])
  })

  it('as its day comes near gets hour and hands on that day, whatever minute stood for it', () => {
    // Ana has two by the day at 8; by the minute the second follows the first at 10.
    const two = { elapsedMin: 2 * HOUR, crewMin: 2 * HOUR }
    const far = problem({ tasks: [daily('A/a', two), daily('B/b', two)] })
    const { plan } = planned(far)
    const near = planned({
      ...far,
      tasks: far.tasks.map((t) => ({ ...t, byDay: undefined })),
      previous: plan.placed.map((p) => ({ ...p, byDay: true })),
    })
    expect(near.of('A/a')).toMatchObject({ startMin: at(0, 8), people: ['ana'] })
    expect(near.of('B/b')).toMatchObject({ startMin: at(0, 10), people: ['ana'] })
    expect(near.plan.broken).toEqual([])
  })

  it('moved by nobody stays where it is, planned again with nothing changed', () => {
    const asked = problem({
      tasks: Array.from({ length: 12 }, (_, k) => daily(`L${k}/a`, { elapsedMin: 4 * HOUR, crewMin: 4 * HOUR })),
    })
    const { plan } = planned(asked)
    const again = planned({ ...asked, previous: plan.placed })
    expect(again.plan.placed.map((p) => p.startMin)).toEqual(plan.placed.map((p) => p.startMin))
  })

  it('pinned, it is planned to the minute', () => {
    const { of } = planned(problem({ tasks: [daily('A/a', { pin: { startMin: at(2, 9) } })] }))
    expect(of('A/a')).toMatchObject({ startMin: at(2, 9), people: ['ana'] })
    expect(of('A/a').byDay).toBeUndefined()
  })
})
