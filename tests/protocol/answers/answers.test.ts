import { describe, expect, it } from 'vitest'
import { coolingFor, lastPick } from '../../../api/protocol/answers/fruit.ts'
import { beforeHome, load, sick, whoTops } from '../../../api/protocol/answers/people.ts'
import { hurtsNext, possible, stopChill, whenDry, whyMoved } from '../../../api/protocol/answers/plan.ts'
import { cleaningOn, freeTank } from '../../../api/protocol/answers/vessels.ts'
import { at, day, ground, plan, stay, task } from './ground.ts'

const said = (answer: { readonly sentences: readonly string[] }) => answer.sentences.join('\n')

describe('which tank is free on Thursday for 6,200 L', () => {
  // The story's own table of who is where, around Thu 18 March:
  // T01 L01 ferments; T02 empty until L03 on the 22nd; T03 until L11 on Fri 19th 10:00; T04 until L07 on the 30th;
  // T09 L12 ferments; T10 empty since Wed 17th 09:00; T11 empty since last year's wine left on the 9th.
  // 6,200 L fill a tank of 6,500 L to 95.4 %, over the 95 % of settling: T02 and T04 refuse; T10 and T11 take it.
  const phases = [
    stay('L01', 'ferment', ['T01'], '2027-03-12T10:00', '2027-04-05T09:00'),
    stay('L03', 'settle', ['T02'], '2027-03-22T07:45', '2027-03-23T10:30'),
    stay('L11', 'settle', ['T03'], '2027-03-19T10:00', '2027-03-20T14:00'),
    stay('L07', 'settle', ['T04'], '2027-03-30T08:00', '2027-04-01T09:30'),
    stay('L12', 'settle', ['T10'], '2027-03-16T05:00', '2027-03-17T07:00'),
    stay('L12', 'ferment', ['T09'], '2027-03-17T07:00', '2027-05-20T12:00'),
    stay('L01', 'cold', ['T11'], '2027-06-28T07:00', '2027-07-26T15:00'),
  ]
  const g = ground('2027-03-17T12:00', plan([], phases))
  const asked = { on: day('2027-03-18'), volumeL: 6200, purpose: 'settling' as const }

  it('names T10 and T11, how full each would be and how long it is cleaned', () => {
    const answer = freeTank(g, asked)
    expect(answer.verdict).toBe('yes')
    expect(answer.sentences[0]).toBe('Thu 18 Mar, 6,200 L for settling: T10, T11 are free.')
    // 6,200 / 10,500 = 59.0 %; 1 h + 10,500 L / 20,000 L/h = 1.5 h. 6,200 / 12,500 = 49.6 %; 1.6 h.
    expect(said(answer)).toContain('T10, 59 % full, 1.5 h of cleaning first')
    expect(said(answer)).toContain('T11, 49.6 % full, 1.6 h of cleaning first, booked for L01 from Mon 28 Jun 07:00')
  })

  it('refuses what would be too full, with the figure', () => {
    expect(said(freeTank(g, asked))).toMatch(/Free but too small: .*T02 \(95\.4 % full; holds 6,175 L\)/)
    expect(said(freeTank(g, asked))).toMatch(/T04 \(95\.4 % full; holds 6,175 L\)/)
  })

  it('leaves out T03 from the day it is booked, and takes 90 % for a ferment, in a jacketed tank only', () => {
    // On Fri 19th L11 runs in at 10:00: T03 is not free that day.
    const friday = freeTank(g, { ...asked, on: day('2027-03-19'), volumeL: 6000 })
    expect(friday.sentences[0]).toBe('Fri 19 Mar, 6,000 L for settling: T02, T04, T10, T11 are free.')
    // 5,900 L: 90 % of 6,500 L are 5,850 L; T11, the insulated tank, has no jacket in the story.
    const ferment = freeTank(g, { ...asked, volumeL: 5900, purpose: 'fermenting' })
    const jacketed = g.facts.vessels.filter((v) => v.jacket).map((v) => v.id)
    const named = ferment.sentences[0]!.match(/T\d\d/g) ?? []
    expect(named).toContain('T10')
    expect(named.every((code) => jacketed.includes(code))).toBe(true)
  })

  it('offers two together where no one tank is free', () => {
    // With T10 and T11 let to others, 6,200 L go into T02 and T04, or any two that hold them: the smallest such pair.
    const facts = {
      ...g.facts,
      vessels: g.facts.vessels.map((v) =>
        ['T10', 'T11'].includes(v.id)
          ? { ...v, bookings: [{ fromAt: at('2027-03-18T00:00'), toAt: at('2027-03-19T00:00'), why: 'let' }] }
          : v,
      ),
    }
    const answer = freeTank({ ...g, facts }, asked)
    expect(answer.verdict).toBe('with-changes')
    const [, a = '', b = ''] = /Split over (T\d\d) and (T\d\d)/.exec(said(answer)) ?? []
    const litres = [a, b].map((code) => facts.vessels.find((v) => v.id === code)!.volumeL * 0.95)
    expect(litres[0]! + litres[1]!).toBeGreaterThanOrEqual(6200)
  })

  it('counts a vessel as taken until the wine has gone on, not only until the work in it is done', () => {
    // L01 is dry on the 27th but racked on the 30th: T01 is not free in between.
    const waits = plan(
      [],
      [
        stay('L01', 'ferment', ['T01'], '2027-03-12T10:00', '2027-03-27T08:00'),
        stay('L01', 'lees', ['T03'], '2027-03-30T07:45', '2027-06-28T08:45'),
      ],
    )
    const answer = freeTank(ground('2027-03-26T12:00', waits), {
      on: day('2027-03-28'),
      volumeL: 6000,
      purpose: 'settling',
    })
    expect(answer.sentences[0]).not.toContain('T01')
    expect(answer.table!.rows.find((r) => r.cells[0] === 'T01')!.cells[3]).toContain('no: L01')
  })
})

describe('do we have cooling for that', () => {
  it('takes 8,640 L by 6 C in 12 h as 4.7 kW, and the pool leaves enough', () => {
    // 8,640 L x 1.08 kg/L x 3.6 kJ/(kg K) x 6 K / 43,200 s = 4.67 kW; the pool of the story: 25 kW x 85 % - 4 kW = 17.25 kW.
    const answer = coolingFor(ground('2027-03-13T06:00', plan([])), {
      at: at('2027-03-13T12:00'),
      volumeL: 8640,
      byC: 6,
      inH: 12,
    })
    expect(answer.verdict).toBe('yes')
    expect(said(answer)).toContain('asks for 4.7 kW')
    expect(said(answer)).toContain('The chillers give 17.3 kW')
  })

  it('says no where the chiller is booked out', () => {
    const g = ground('2027-03-13T06:00', plan([]))
    const down = { fromAt: at('2027-03-13T00:00'), toAt: at('2027-03-14T12:00'), why: 'compressor' }
    const machines = g.facts.machines.map((m) => (m.id === 'CH' ? { ...m, bookings: [down] } : m))
    const answer = coolingFor(
      { ...g, facts: { ...g.facts, machines } },
      { at: at('2027-03-13T12:00'), volumeL: 8640, byC: 6, inH: 12 },
    )
    expect(answer.verdict).toBe('no')
  })
})

describe('who tops row B on Friday', () => {
  // Row B holds B1 to B14; L03 lies in B1 to B9 after levelling. It is topped on Wednesdays: 21 and 28 April.
  const b = ['B1', 'B2', 'B3']
  const toppings = [
    task('L03/top-barrels/3', '2027-04-21T07:00', 60, { people: ['sam', 'robin'], fromVessels: b, state: 'done' }),
    task('L03/top-barrels/4', '2027-04-28T07:00', 60, { people: ['sam', 'kim'], fromVessels: b }),
    task('L04/top-barrels/4', '2027-04-23T07:00', 60, { people: ['alex'], fromVessels: ['D1'] }),
  ]
  it('nothing is due on Friday 23rd; the next is Wednesday 28th, by Sam and Kim', () => {
    const answer = whoTops(ground('2027-04-22T12:00', plan(toppings)), { row: 'B', on: day('2027-04-23') })
    expect(answer.sentences).toEqual([
      'On Fri 23 Apr nothing of row B is due.',
      'The next topping is Wed 28 Apr 07:00: Sam and Kim.',
      'It was last topped on Wed 21 Apr 08:00.',
    ])
  })
  it('on the Wednesday it names them', () => {
    const answer = whoTops(ground('2027-04-22T12:00', plan(toppings)), { row: 'B', on: day('2027-04-28') })
    expect(answer.sentences[0]).toContain('Sam and Kim, Wed 28 Apr 07:00, L03')
  })
})

describe('why did this task move', () => {
  it('tells the chain with the old dates', () => {
    // Dry was forecast for 30 March; three readings brought it to 2 April, so racking off the gross lees slid with it.
    const change = (from: string, to: string, words: string) => ({
      at: at('2027-03-28T08:00').toString(),
      fromStartAt: at(from).toString(),
      toStartAt: at(to).toString(),
      words,
    })
    const tasks = [
      task('L01/check-dry/1', '2027-04-02T08:00', 20, {
        change: change(
          '2027-03-30T08:00',
          '2027-04-02T08:00',
          'dry is forecast for 2 Apr instead of 30 Mar, so 30 Mar -> 2 Apr',
        ),
      }),
      task('L01/rack-gross/1', '2027-04-05T08:00', 120, {
        prev: ['L01/check-dry/1'],
        change: change(
          '2027-04-01T08:00',
          '2027-04-05T08:00',
          'dry is forecast for 2 Apr instead of 30 Mar, so 1 Apr -> 5 Apr',
        ),
      }),
    ]
    const answer = whyMoved(ground('2027-03-28T09:00', plan(tasks)), { key: 'L01/rack-gross/1' })
    expect(answer.sentences[0]).toBe('L01 rack gross: dry is forecast for 2 Apr instead of 30 Mar, so 1 Apr -> 5 Apr.')
    expect(answer.sentences[1]).toBe('L01 check dry: dry is forecast for 2 Apr instead of 30 Mar, so 30 Mar -> 2 Apr.')
    expect(answer.table!.rows.map((r) => r.cells.slice(1, 3))).toEqual([
      ['Thu 1 Apr 08:00', 'Mon 5 Apr 08:00'],
      ['Tue 30 Mar 08:00', 'Fri 2 Apr 08:00'],
    ])
  })
  it('tells only the day of what was planned to the day', () => {
    const change = {
      at: at('2027-03-28T08:00').toString(),
      fromStartAt: at('2027-07-01T08:00').toString(),
      toStartAt: at('2027-07-05T09:35').toString(),
      fromGrain: 'day' as const,
      words: 'the bottler has another day, so 1 Jul -> 5 Jul',
    }
    const far = (toGrain?: 'day') =>
      task('L01/release/1', '2027-07-05T09:35', 20, { change: { ...change, ...(toGrain ? { toGrain } : {}) } })
    const cells = (t: ReturnType<typeof far>) =>
      whyMoved(ground('2027-03-28T09:00', plan([t])), { key: t.key }).table!.rows[0]!.cells.slice(1, 3)
    // 1 July 2027 is a Thursday, 5 July a Monday.
    expect(cells(far())).toEqual(['Thu 1 Jul', 'Mon 5 Jul 09:35'])
    expect(cells(far('day'))).toEqual(['Thu 1 Jul', 'Mon 5 Jul'])
  })
  it('says so where it never moved', () => {
    const g = ground('2027-03-22T06:30', plan([task('L03/press/1', '2027-03-22T09:00', 195)]))
    expect(whyMoved(g, { key: 'L03/press/1' }).sentences[0]).toBe(
      'L03 press has not moved since it was first planned: Mon 22 Mar 09:00.',
    )
  })
})

describe('what must be done before I go home', () => {
  // Monday 22 March, 16:00. The first shift of Tuesday is Sam's and Kim's, 05:00. Racking must start by 03:30: tonight.
  // Washing has until Tuesday 05:00 exactly, when somebody is there again: it can wait. The lees can wait for days.
  const tasks = [
    task('L03/rack-juice/1', '2027-03-22T20:00', 80, { latestAt: at('2027-03-23T03:30'), people: ['ari'] }),
    task('L03/clean-tank/2', '2027-03-22T17:00', 65, { latestAt: at('2027-03-23T05:00'), people: ['ari'] }),
    task('L01/stir-lees/1', '2027-03-22T17:00', 30, { latestAt: at('2027-03-30T05:00'), people: ['alex'] }),
    task('L04/press/1', '2027-03-22T09:00', 195, { latestAt: at('2027-03-22T15:00'), people: ['sam'] }),
  ]
  const g = ground('2027-03-22T16:00', plan(tasks))
  it('lists each with the minute it expires, what is over first', () => {
    expect(beforeHome(g, {}).sentences).toEqual([
      '2 tasks cannot wait for the next shift, Tue 23 Mar 05:00.',
      'L04 press: its last moment was Mon 22 Mar 15:00, 1 h ago.',
      'L03 rack juice: start it by Tue 23 Mar 03:30, in 11.5 h.',
    ])
  })
  it('asked by one person, is theirs, until their own next shift', () => {
    // Alex comes at 07:00 on Tuesday: nothing of Alex's expires before that.
    expect(beforeHome(g, { person: 'alex' }).sentences).toEqual([
      'Nothing has to be done before Alex’s next shift begins, Tue 23 Mar 07:00.',
    ])
  })
})

describe('what happens if Kim is sick tomorrow', () => {
  // Tuesday 23 March: Kim has the racking and the round; Robin is off on Tuesdays. A planner gives the round to Noor,
  // puts the racking on Wednesday, and finds nobody for the forklift: that needs a decision.
  const theirs = [
    task('L03/rack-juice/1', '2027-03-23T10:00', 80, { people: ['kim'] }),
    task('L09/check-ferment/5', '2027-03-23T07:00', 15, { people: ['kim'] }),
    task('L04/receive/1', '2027-03-23T08:00', 45, { people: ['kim'], latestAt: at('2027-03-23T12:00') }),
  ]
  it('says who takes over, what waits, and what needs a decision with its latest moment', async () => {
    const after = [
      task('L03/rack-juice/1', '2027-03-24T07:00', 80, { people: ['sam'] }),
      task('L09/check-ferment/5', '2027-03-23T07:00', 15, { people: ['noor'] }),
      task('L04/receive/1', '2027-03-23T08:00', 45, { people: [] }),
    ]
    const g = ground('2027-03-22T16:00', plan(theirs), { planOf: async () => plan(after) })
    const answer = await sick(g, { person: 'kim', on: day('2027-03-23') })
    expect(answer.verdict).toBe('no')
    expect(answer.sentences).toEqual([
      // 80 + 15 + 45 = 140 min = 2.3 h
      'Kim has 3 tasks on Tue 23 Mar, 2.3 h of work.',
      '1 task can be done by others on the day.',
      'L03 rack juice waits until Wed 24 Mar 07:00.',
      'L04 receive needs a decision: nobody can do it; its last moment is Tue 23 Mar 12:00.',
    ])
    expect(answer.tried).toHaveLength(1)
  })
  it('asks for a plan in which Kim is away on that day, and only then', async () => {
    let away: readonly unknown[] = []
    const g = ground('2027-03-22T16:00', plan(theirs), {
      planOf: async (facts) => {
        away = facts.people.flatMap((p) => p.absences.map((a) => [p.id, a.fromAt.toString(), a.toAt.toString()]))
        return plan(theirs)
      },
    })
    await sick(g, { person: 'kim', on: day('2027-03-23') })
    expect(away).toEqual([['kim', at('2027-03-23T00:00').toString(), at('2027-03-24T00:00').toString()]])
  })
})

describe('which tanks need cleaning today and in what order', () => {
  it('goes by when each is filled, and says what will no longer be sanitised then', () => {
    // T04 is filled at 10:00 tomorrow, T02 at 08:00: T02 first. T06 is filled in two days: more than 24 h, rinse again.
    const tasks = [
      task('L03/clean-tank/2', '2027-03-22T15:00', 65, {
        toVessels: ['T04'],
        next: ['L03/rack-juice/1'],
        people: ['ari'],
      }),
      task('L04/clean-tank/1', '2027-03-22T16:30', 65, { toVessels: ['T02'], next: ['L04/press/1'], people: ['ari'] }),
      task('L09/clean-tank/9', '2027-03-22T13:00', 65, {
        toVessels: ['T06'],
        next: ['L09/stop-so2/1'],
        people: ['ari'],
      }),
      task('L03/rack-juice/1', '2027-03-23T10:00', 80),
      task('L04/press/1', '2027-03-23T08:00', 195),
      task('L09/stop-so2/1', '2027-03-24T08:00', 60),
    ]
    const answer = cleaningOn(ground('2027-03-22T06:30', plan(tasks)), { on: day('2027-03-22') })
    expect(answer.table!.rows.map((r) => r.cells[0])).toEqual(['T02', 'T04', 'T06'])
    expect(answer.sentences[3]).toContain('more than 24 h after washing: rinse again')
    expect(answer.sentences[1]).not.toContain('rinse again')
  })
})

describe('when can I start the chill so that it stops at 22 g/L', () => {
  it('names the start the plan has, the sugar then and the fall', () => {
    // L07 falls 12 g/L a day. It stands at 38 g/L on Sun 18 April 00:00, so at 22:00 it is 38 - 11 = 27 g/L.
    const g0 = ground(
      '2027-04-18T06:00',
      plan([task('L07/stop-chill/1', '2027-04-18T22:00', 240, { detail: 'at about 27 g/L, to 2 C', people: ['ari'] })]),
    )
    const points = [
      { at: at('2027-04-17T00:00').toString(), sugarGPerL: 50 },
      { at: at('2027-04-18T00:00').toString(), sugarGPerL: 38 },
      { at: at('2027-04-19T00:00').toString(), sugarGPerL: 26 },
      { at: at('2027-04-20T00:00').toString(), sugarGPerL: 14 },
    ]
    const g = { ...g0, plan: { ...g0.plan, forecasts: [{ lotId: 'L07', points }] } }
    const lot = g.facts.lots.find((l) => l.code === 'L07')!
    expect(stopChill(g, { lot }).sentences).toEqual([
      'L07 is to stop at 22 g/L: at about 27 g/L, to 2 C.',
      'Start the cold on Sun 18 Apr 22:00; the forecast has 27 g/L then, falling 12 g/L a day.',
      // 06:00 of the 18th: 38 - 3 = 35
      'The forecast for now is 35 g/L.',
      'A reading decides: start when the hydrometer shows it, whatever the day.',
    ])
  })
  it('refuses a lot that is not stopped', () => {
    const g = ground('2027-04-18T06:00', plan([]))
    expect(stopChill(g, { lot: g.facts.lots.find((l) => l.code === 'L01')! }).verdict).toBe('no')
  })
})

describe('when will this ferment be dry', () => {
  it('says the likely day, the last reading and the test', () => {
    const g0 = ground('2027-03-23T12:00', plan([task('L01/check-dry/1', '2027-04-03T08:10', 20, { people: ['noor'] })]))
    const reading = { id: 'r', lotId: 'L01', kind: 'density' as const, value: 1041, takenAt: at('2027-03-23T07:00') }
    const g = {
      ...g0,
      facts: { ...g0.facts, readings: [reading] },
      plan: { ...g0.plan, dryAt: new Map([['L01', at('2027-04-03T02:00')]]) },
    }
    expect(whenDry(g, { lot: g.facts.lots.find((l) => l.code === 'L01')! }).sentences).toEqual([
      'L01 is likely dry on Sat 3 Apr 02:00.',
      'The last reading is density 1,041, Tue 23 Mar 07:00.',
      'It is proved by two tests; the first is planned for Sat 3 Apr 08:10.',
    ])
  })
})

describe('is the plan possible at all', () => {
  const tasks = [
    task('L03/press/1', '2027-03-22T09:00', 195),
    task('L04/press/1', '2027-03-25T09:00', 195),
    task('L05/press/1', '2027-03-20T09:00', 195, { state: 'done' }),
  ]
  it('names the first hard rule that breaks, its day and how many more; what is over counts no more', () => {
    const hard = (key: string, words: string) => ({
      rule: 'unit-taken',
      strength: 'hard' as const,
      taskKeys: [key],
      words,
    })
    const broken = [
      hard('L04/press/1', 'PA is promised twice: L04 press'),
      hard('L03/press/1', 'L03 press begins 2 h too late'),
      hard('L05/press/1', 'L05 press was late'),
      { rule: 'after-due', strength: 'soft' as const, taskKeys: ['L04/press/1'], words: 'late' },
    ]
    const answer = possible(ground('2027-03-22T06:30', plan(tasks, [], broken)))
    expect(answer.verdict).toBe('no')
    expect(answer.sentences).toEqual([
      'No plan was found that keeps every hard rule. The first that breaks is on Mon 22 Mar 09:00: L03 press begins 2 h too late.',
      '1 more hard rule breaks.',
      '1 wish cannot be met as asked.',
    ])
  })
  it('says yes where every hard rule is kept', () => {
    expect(possible(ground('2027-03-22T06:30', plan(tasks))).verdict).toBe('yes')
  })
})

describe('what is the last day to pick this block for that bottling date', () => {
  it('is found day by day, with the slack', async () => {
    // A planner whose wine is released 100 days after the pick: for 3 August the last pick is 3 August - 100 d = 25 April.
    // L07 is planned for 30 March: 26 days of slack.
    const g = ground('2027-03-22T06:30', plan([]), {
      planOf: async (facts) => {
        const pickOn = facts.lots[0]!.pickOn.toString()
        const end = day(pickOn).add({ days: 100 })
        return plan([task('L07/release/1', `${end}T09:00`, 20)])
      },
    })
    const lot = g.facts.lots.find((l) => l.code === 'L07')!
    expect(lot.pickOn.toString()).toBe('2027-03-30')
    const answer = await lastPick(g, { lot, finishOn: day('2027-08-03') })
    expect(answer.sentences.slice(0, 2)).toEqual([
      'L07 for Tue 3 Aug: the last day to pick is Sun 25 Apr.',
      'It is planned for Tue 30 Mar: 26 days of slack.',
    ])
  })
  it('never says impossible: none found, what would break, and what would free it', async () => {
    const g = ground('2027-03-22T06:30', plan([]), {
      planOf: async () => plan([task('L07/release/1', '2027-12-01T09:00', 20)]),
    })
    const lot = g.facts.lots.find((l) => l.code === 'L07')!
    const answer = await lastPick(g, { lot, finishOn: day('2027-08-03') })
    expect(answer.verdict).toBe('no')
    expect(answer.sentences[0]).toMatch(/^None found/)
    expect(said(answer)).not.toMatch(/impossible/i)
  })
})

describe('what will hurt us next week', () => {
  it('names the work with least room, and the one cold tank with the gap between two lots', () => {
    // The story: L12 in T11 until 10 June 12:00, L01 from 28 June 07:00: 17 days 19 h between them, 17.8 days.
    const phases = [
      stay('L12', 'cold', ['T11'], '2027-05-20T08:00', '2027-06-10T12:00'),
      stay('L01', 'cold', ['T11'], '2027-06-28T07:00', '2027-07-26T15:00'),
    ]
    const tasks = [
      task('L03/receive/1', '2027-03-22T07:40', 75, { slackMin: 240, people: ['alex'] }),
      task('L04/receive/1', '2027-03-24T06:30', 70, { slackMin: 360, people: ['kim'] }),
    ]
    expect(hurtsNext(ground('2027-03-22T06:30', plan(tasks, phases))).sentences).toEqual([
      'No hard rule breaks next week.',
      'Least room: L03 receive on Mon 22 Mar 07:40 may slip 4 h before a hard limit breaks.',
      'T11 is the only cold tank: L12 has it to Thu 10 Jun 12:00, L01 from Mon 28 Jun 07:00, 17.8 days between them.',
    ])
  })
})

describe('how full are everybody’s days', () => {
  it('counts two things done as one stream once, against the hours of the shift', () => {
    // Kim on Tue 23 March: 05:00-14:00, 9 h. Press 09:00-12:00 with loading 09:00-09:45 beside it: 3 h. Sam: 9.5 h of 9 h.
    const tasks = [
      task('L03/press/1', '2027-03-23T09:00', 180, { people: ['kim'] }),
      task('L03/load-press/1', '2027-03-23T09:00', 45, { people: ['kim'] }),
      task('L03/prep-barrels/1', '2027-03-23T05:00', 570, { people: ['sam'] }),
    ]
    const answer = load(ground('2027-03-22T06:30', plan(tasks)), { from: day('2027-03-22'), days: 2 })
    const row = (name: string) => answer.table!.rows.find((r) => r.cells[0] === name)!.cells
    // Monday is Kim's day off.
    expect(row('Kim')).toEqual(['Kim', 'off', '3 / 9 h'])
    expect(row('Sam')).toEqual(['Sam', '0 / 9 h', '9.5 / 9 h'])
    expect(said(answer)).toContain('More work than hours: Sam on Tue 23 Mar (9.5 of 9 h).')
  })
})
