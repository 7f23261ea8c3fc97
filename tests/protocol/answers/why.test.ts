import { describe, expect, it } from 'vitest'
import type { ConflictTold } from '../../../api/protocol/answers/ways-out.ts'
import { waysOut } from '../../../api/protocol/answers/ways-out.ts'
import { type TaskCauses, whyThen } from '../../../api/protocol/answers/why.ts'
import { at, ground, plan, task } from './ground.ts'

describe('why does this task stand there', () => {
  // Kim loads L03 until 09:30; the press runs at once after it, until 12:45. L03 was received from 07:00, when it was
  // picked. Sam starts at 05:00. The juice may wait two hours for its cold at the most.
  const tasks = [
    task('L03/receive/1', '2027-03-22T07:00', 60, { people: ['sam'], next: ['L03/load-press/1'] }),
    task('L03/load-press/1', '2027-03-22T08:45', 45, { people: ['kim'], prev: ['L03/receive/1'] }),
    task('L03/press/1', '2027-03-22T09:30', 195, { people: ['kim'], prev: ['L03/load-press/1'], slackMin: 90 }),
    task('L03/chill-juice/1', '2027-03-22T13:30', 120, { people: ['kim'], prev: ['L03/press/1'] }),
    task('L04/receive/1', '2027-03-22T08:00', 45, { people: ['kim'] }),
  ]
  const causes = new Map<string, TaskCauses>([
    [
      'L03/press/1',
      {
        notEarlier: [
          { kind: 'link', ref: 'L03/load-press/1', lagMin: 0 },
          { kind: 'window', ref: 'starts 540-1020  all days' },
        ],
        notLater: [
          { kind: 'link', ref: 'L03/chill-juice/1', lagMin: 0 },
          { kind: 'shift', ref: 'kim' },
        ],
      },
    ],
    ['L03/load-press/1', { notEarlier: [{ kind: 'person', ref: 'kim', by: 'L04/receive/1' }], notLater: [] }],
    ['L04/receive/1', { notEarlier: [{ kind: 'release' }], notLater: [] }],
    ['L03/chill-juice/1', { notEarlier: [], notLater: [{ kind: 'deadline' }] }],
  ])
  const g = ground('2027-03-22T06:30', plan(tasks), { causes: async () => causes })

  it('goes link by link down to a fact somebody knows, on both sides, and says what else is tight', async () => {
    expect((await whyThen(g, { key: 'L03/press/1' })).sentences).toEqual([
      'L03 press stands on Mon 22 Mar 09:30, by Kim.',
      'Why not earlier:',
      'L03 press: it comes after L03 load press, which ends Mon 22 Mar 09:30.',
      'L03 load press: Kim is with L04 receive from Mon 22 Mar 08:00 until Mon 22 Mar 08:45.',
      // In the story L04 is picked on Wed 24 March.
      'L04 receive: L04 is picked on Wed 24 Mar: no fruit is on the pad before.',
      // 540 min are 09:00, 1020 are 17:00.
      'Also tight within the hour: it begins only at 09:00–17:00.',
      'Why not later:',
      'L03 press: L03 chill juice of Mon 22 Mar 13:30 comes after it.',
      'L03 chill juice: it is wanted by then: the day it was booked for.',
      // Kim: early shift, 05:00 to 14:00; off on Mondays.
      'Also close: Kim is off that day.',
      'It may slip 1.5 h before a hard limit breaks.',
    ])
  })

  it('says of work that merely stays where people know it what it could have instead', async () => {
    const stays = new Map(causes).set('L03/chill-juice/1', { notEarlier: [{ kind: 'previous' }], notLater: [] })
    const { sentences } = await whyThen({ ...g, causes: async () => stays }, { key: 'L03/chill-juice/1' })
    // The press ends at 09:30 + 195 min = 12:45.
    expect(sentences[2]).toBe(
      'L03 chill juice: people know it there; by what goes before it could be after Mon 22 Mar 12:45, when L03 press ends.',
    )
    expect(sentences).toContain('L03 chill juice: nothing hurries it.')
  })

  it('names what fills a full day, the most first, and goes on through it', async () => {
    // 300 min are 5 h, 45 min stay minutes.
    const fills = [
      { key: 'L04/receive/1', minutes: 300 },
      { key: 'L03/load-press/1', minutes: 45 },
    ]
    const full: TaskCauses = { notEarlier: [{ kind: 'day', ref: 'skill press', dayMin: 0, fills }], notLater: [] }
    const { sentences } = await whyThen(
      { ...g, causes: async () => new Map(causes).set('L03/press/1', full) },
      { key: 'L03/press/1' },
    )
    expect(sentences.slice(2, 4)).toEqual([
      'L03 press: the last day before it has no more working time of people with press left, it goes to L04 receive 5 h, L03 load press 45 min.',
      'L04 receive: L04 is picked on Wed 24 Mar: no fruit is on the pad before.',
    ])
  })

  it('names who fixed a task and when, a booking with its reason, and a circle only once', async () => {
    const facts = {
      ...g.facts,
      taskFacts: [
        {
          id: 'p',
          taskKey: 'L03/receive/1',
          kind: 'pin' as const,
          at: at('2027-03-21T16:00'),
          personId: 'alex',
          startAt: at('2027-03-22T07:00'),
        },
      ],
      machines: g.facts.machines.map((m) =>
        m.id === 'PA'
          ? { ...m, bookings: [{ fromAt: at('2027-03-22T05:00'), toAt: at('2027-03-22T09:30'), why: 'bladder torn' }] }
          : m,
      ),
    }
    const told = async (key: string, own: TaskCauses) =>
      (await whyThen({ ...g, facts, causes: async () => new Map([[key, own]]) }, { key })).sentences[2]
    expect(await told('L03/receive/1', { notEarlier: [{ kind: 'pin' }], notLater: [] })).toBe(
      'L03 receive: it was fixed there by Alex on Sun 21 Mar 16:00.',
    )
    expect(await told('L03/press/1', { notEarlier: [{ kind: 'unit', ref: 'PA' }], notLater: [] })).toBe(
      'L03 press: PA is booked until Mon 22 Mar 09:30: bladder torn.',
    )
    const circle = new Map<string, TaskCauses>([
      ['L03/press/1', { notEarlier: [{ kind: 'link', ref: 'L03/load-press/1' }], notLater: [] }],
      ['L03/load-press/1', { notEarlier: [{ kind: 'link', ref: 'L03/press/1' }], notLater: [] }],
    ])
    const { table } = await whyThen({ ...g, causes: async () => circle }, { key: 'L03/press/1' })
    expect(table!.rows.filter((r) => r.cells[0] === 'not earlier')).toHaveLength(2)
  })
})

describe('what is in the way, and what it costs to get out of it', () => {
  // Both presses are let on L04's day. A day later, or sooner, they are free: that keeps every rule. Less fruit does not help.
  const tasks = [
    task('L04/receive/1', '2027-03-24T07:00', 45, { people: ['sam'] }),
    task('L04/press/1', '2027-03-24T09:00', 195, { people: ['kim'] }),
    task('L07/press/1', '2027-03-25T09:00', 195, { people: ['kim'] }),
  ]
  const broken = {
    rule: 'unit-taken',
    strength: 'hard' as const,
    taskKeys: ['L04/press/1'],
    words: 'PA is promised twice: L04 press',
  }
  const conflict: ConflictTold = {
    words: broken.words,
    taskKeys: broken.taskKeys,
    limits: ['PA is booked: service', 'L04 press may not wait longer after L04 receive'],
    letGo: [{ words: 'PA is booked: service', hardBroken: 0 }],
    freed: true,
    schedules: 9,
  }
  const g = ground('2027-03-22T06:30', plan(tasks, [], [broken]), {
    conflict: async () => conflict,
    planOf: async (facts) => {
      const pickOn = facts.lots.find((l) => l.code === 'L04')!.pickOn.toString()
      if (pickOn === '2027-03-24') return plan(tasks, [], [broken])
      // On Thursday L07's press moves out of the way by four hours.
      return pickOn === '2027-03-25'
        ? plan([tasks[0]!, tasks[1]!, task('L07/press/1', '2027-03-25T13:00', 195, { people: ['kim'] })])
        : plan(tasks)
    },
  })

  it('tells the smallest set of limits and two or more ways with their price, the cheapest first', async () => {
    const answer = await waysOut(g, {})
    expect(answer.verdict).toBe('with-changes')
    expect(answer.sentences.slice(0, 3)).toEqual([
      'Broken: PA is promised twice: L04 press.',
      'These cannot all be kept: PA is booked: service; L04 press may not wait longer after L04 receive.',
      'Without one of them, PA is booked: service: every hard rule is kept.',
    ])
    // Thursday 25th, Friday 26th, Tuesday 23rd; L04 brings 5.0 t of 620 L/t: 15 % less are 4.25 t and 465 L.
    expect(answer.table!.rows.map((r) => r.cells)).toEqual([
      ['pick L04 on Tue 23 Mar', '1', '0', '0', '0', '0'],
      // L07 is then pressed from 13:00 to 16:15; Kim goes home at 14:00: 2.25 h.
      ['pick L04 on Thu 25 Mar', '1', '0', '2.3', '1', '0'],
      ['pick L04 on Fri 26 Mar', '2', '0', '0', '0', '0'],
      ['take 4.25 t of L04: does not help', '0', '465', '0', '0', '1'],
    ])
    expect(answer.tried).toEqual([{ kind: 'pick', lot: 'L04', pickOn: '2027-03-23' }])
  })

  it('tells the limits of one outcome together, each once; all alike in a word', async () => {
    const [a, b, c] = ['L04 press (load 1) may not wait', 'L04 press (load 2) may not wait', 'PA is booked: service']
    const told = async (letGo: ConflictTold['letGo']) => {
      const limits = [a, b, c, a]
      return (await waysOut({ ...g, conflict: async () => ({ ...conflict, limits, letGo }) }, {})).sentences.slice(
        1,
        -1,
      )
    }
    expect(
      await told([
        { words: a, hardBroken: 3 },
        { words: c, hardBroken: 0 },
        { words: b, hardBroken: 3 },
        { words: a, hardBroken: 3 },
      ]),
    ).toEqual([
      `These cannot all be kept: ${a}; ${b}; ${c}.`,
      `Without one of them, ${c}: every hard rule is kept.`,
      `Without one of them, ${a}, or ${b}: 3 hard rules broken.`,
    ])
    expect(await told([a, b, c].map((words) => ({ words, hardBroken: 2 })))).toEqual([
      `These cannot all be kept: ${a}; ${b}; ${c}.`,
      'Without any one of them: 2 hard rules broken.',
    ])
  })

  it('tries a night in the cold room for hand-picked fruit that is not cooled yet, and no finish for what is pressed', async () => {
    // L03 is picked by hand and not cooled (the story); it is to be filled in February 2028, which no press waits for.
    const late = [
      task('L03/receive/1', '2027-03-22T08:00', 45, { people: ['sam'] }),
      task('L03/press/1', '2027-03-22T20:00', 195, { people: [] }),
    ]
    const short = { ...broken, rule: 'no-person', taskKeys: ['L03/press/1'], words: 'nobody is free for L03 press' }
    const cooled = ground('2027-03-22T06:30', plan(late, [], [short]), {
      conflict: async () => ({ ...conflict, words: short.words, taskKeys: short.taskKeys, byMin: 60 }),
      planOf: async (facts) =>
        facts.lots.find((l) => l.code === 'L03')!.choices.fruitCooling === 'cold-room'
          ? plan(late)
          : plan(late, [], [short]),
    })
    const { tried, table } = await waysOut(cooled, {})
    expect(tried).toEqual([{ kind: 'choices', lot: 'L03', choices: { fruitCooling: 'cold-room' } }])
    expect(table!.rows[0]!.cells[0]).toBe('cool L03 in CR overnight')
    expect(table!.rows.filter((r) => r.cells[0]!.startsWith('finish'))).toEqual([])
  })

  it('never says that there is none where none was found', async () => {
    const stuck = {
      ...g,
      planOf: async () => plan(tasks, [], [broken]),
      conflict: async () => ({ ...conflict, limits: [], letGo: [], freed: false }),
    }
    const answer = await waysOut(stuck, {})
    expect(answer.verdict).toBe('no')
    const words = answer.sentences.join(' ')
    expect(words).toContain('None found')
    expect(words).toContain('does not prove')
    expect(words).not.toMatch(/impossible/i)
  })

  it('has nothing to say where every hard rule is kept', async () => {
    expect((await waysOut({ ...g, conflict: async () => undefined }, {})).verdict).toBe('yes')
  })
})
