import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { judge, reported } from './checker.ts'
import { at, DAY, days, HOUR, link, person, problem, task, unit, wait } from './make.ts'

/** Plans, lets the independent checker look, and gives starts by key. */
function plan(
  more: Partial<Problem>,
): Plan & { readonly start: Record<string, number>; readonly of: (key: string) => Plan['placed'][number] } {
  const asked = problem(more)
  const found = schedule(asked)
  const { violated, absurd } = judge(asked, found)
  expect(absurd).toEqual([])
  expect(reported(found)).toEqual(violated)
  return {
    ...found,
    start: Object.fromEntries(found.placed.map((p) => [p.key, p.startMin])),
    of: (key) => found.placed.find((p) => p.key === key)!,
  }
}

const rules = (p: Plan) => p.broken.map((b) => b.rule)

describe('lags', () => {
  it('work starts when its hands do: at the shift, not at night', () => {
    expect(plan({ tasks: [task('L/a')] }).start).toEqual({ 'L/a': at(0, 8) })
  })

  it('a wait of 14 h after the press is over in the night, and the racking comes with the morning', () => {
    const { start } = plan({
      tasks: [task('L/press'), wait('L/settle', 14 * HOUR), task('L/rack')],
      links: [link('L/press', 'L/settle'), link('L/settle', 'L/rack')],
    })
    expect(start).toEqual({ 'L/press': at(0, 8), 'L/settle': at(0, 9), 'L/rack': at(1, 8) })
  })

  it('what comes before waits when a maximum lag would else be missed over the night', () => {
    // 30 h after 9:00 is 15:00 next day: fine. With at most 2 h of waiting after 17 h of settling (2:00), the
    // racking at 8:00 is too late; the press moves so that settling ends when people are there.
    const { start, broken } = plan({
      tasks: [task('L/press'), wait('L/settle', 17 * HOUR), task('L/rack')],
      links: [link('L/press', 'L/settle', 0, 0), link('L/settle', 'L/rack', 0, 2 * HOUR)],
    })
    expect(broken).toEqual([])
    expect(start['L/settle']! + 17 * HOUR).toBeGreaterThanOrEqual(at(1, 6))
    expect(start['L/rack']).toBe(at(1, 8))
  })

  it('a lag from start to start lets a stream overlap', () => {
    const { start } = plan({
      tasks: [task('L/crush'), task('L/press')],
      links: [link('L/crush', 'L/press', 15, 60, { from: 'start' })],
      people: [person('ana'), person('ben')],
    })
    expect(start).toEqual({ 'L/crush': at(0, 8), 'L/press': at(0, 8.25) })
  })

  it('10 working hours after 17:00 are up at 9:00 on the day after next; elapsed ones at 3:00', () => {
    const of = (clock: 'working' | 'elapsed') =>
      plan({
        tasks: [task('L/a', { pin: { startMin: at(0, 16) } }), wait('L/b', 0)],
        links: [link('L/a', 'L/b', 10 * HOUR, undefined, { clock })],
      }).start['L/b']
    expect(of('elapsed')).toBe(at(1, 3))
    expect(of('working')).toBe(at(2, 9))
  })

  it('an upper lag on the working clock pauses over the night', () => {
    const { start, broken } = plan({
      tasks: [task('L/a', { pin: { startMin: at(0, 16) } }), task('L/b', { releaseMin: at(1, 0) })],
      links: [link('L/a', 'L/b', 0, HOUR, { clock: 'working' })],
    })
    expect(start['L/b']).toBe(at(1, 8))
    expect(broken).toEqual([])
  })

  it('limits that chase each other come back as a cycle with its tasks, and everything is placed all the same', () => {
    const found = plan({
      tasks: [wait('L/a', HOUR), wait('L/b', HOUR), task('L/c')],
      links: [link('L/a', 'L/b', 2 * HOUR), link('L/b', 'L/a', 0), link('L/b', 'L/c')],
    })
    const cycle = found.broken.find((b) => b.rule === 'cycle')
    expect([...(cycle?.tasks ?? [])].sort()).toEqual(['L/a', 'L/b'])
    expect(rules(found)).toContain('link-too-short')
    expect(found.placed).toHaveLength(3)
  })

  it('a maximum lag below the minimum is a cycle too', () => {
    const found = plan({ tasks: [wait('L/a', 0), wait('L/b', 0)], links: [link('L/a', 'L/b', 100, 50)] })
    expect(rules(found).sort()).toEqual(['cycle', 'link-too-long'])
  })
})

describe('people', () => {
  it('one person does one task at a time', () => {
    const { start } = plan({ tasks: [task('A/a'), task('B/b')] })
    expect(Object.values(start).sort((a, b) => a - b)).toEqual([at(0, 8), at(0, 9)])
  })

  it('a crew of two needs each skill once, and both free', () => {
    const { of } = plan({
      tasks: [task('L/a', { crew: 2, skills: ['press', 'pump'] })],
      people: [person('ana', ['pump']), person('ben', []), person('cor', ['press'])],
    })
    expect([...of('L/a').people].sort()).toEqual(['ana', 'cor'])
  })

  it('a skill nobody has is reported, and the task still stands where it can', () => {
    const found = plan({ tasks: [task('L/a', { skills: ['forklift'] })] })
    expect(found.broken).toMatchObject([{ rule: 'no-person', ref: 'forklift', tasks: ['L/a'] }])
    expect(found.start['L/a']).toBe(at(0, 8))
  })

  it('labour is shorter than the task: hands are free again while it runs', () => {
    const { of, start } = plan({ tasks: [task('A/press', { elapsedMin: 4 * HOUR, crewMin: 30 }), task('B/b')] })
    expect(of('A/press').endMin).toBe(at(0, 12))
    expect(start['B/b']).toBe(at(0, 8.5))
  })

  it('work that may pause goes on in the morning, and holds its pump over the night', () => {
    const { of } = plan({
      tasks: [
        task('L/filter', {
          elapsedMin: 10 * HOUR,
          crewMin: 10 * HOUR,
          interruptible: true,
          uses: [{ pool: 'pump', amount: 1 }],
        }),
      ],
      units: [unit('P', 'pump')],
    })
    expect(of('L/filter')).toMatchObject({ startMin: at(0, 8), endMin: at(1, 9), crewEndMin: at(1, 9) })
  })

  it('work that may not pause waits for a shift long enough', () => {
    const { start } = plan({
      tasks: [task('L/a', { elapsedMin: 6 * HOUR, crewMin: 6 * HOUR })],
      calendars: {
        day: [
          [at(0, 8), at(0, 12)],
          [at(0, 13), at(0, 17)],
          [at(1, 8), at(1, 16)],
        ],
      },
    })
    expect(start['L/a']).toBe(at(1, 8))
  })

  it('who is wished for does it when free', () => {
    const { of } = plan({
      tasks: [task('L/a', { prefer: ['cor'] })],
      people: [person('ana'), person('ben'), person('cor')],
    })
    expect(of('L/a').people).toEqual(['cor'])
  })
})

describe('machines and vessels', () => {
  const press = { uses: [{ pool: 'press', amount: 1 }], elapsedMin: 3 * HOUR, crewMin: 30 }

  it('one press: lots follow each other, with washing between', () => {
    const { start } = plan({
      tasks: [task('A/press', press), task('B/press', press)],
      units: [unit('PA', 'press', { turnaroundMin: 45 })],
    })
    expect(Object.values(start).sort((a, b) => a - b)).toEqual([at(0, 8), at(0, 11.75)])
  })

  it('two loads of one lot need no washing between', () => {
    const { start } = plan({
      tasks: [task('A/press-1', press), task('A/press-2', press)],
      units: [unit('PA', 'press', { turnaroundMin: 45 })],
    })
    expect(Object.values(start).sort((a, b) => a - b)).toEqual([at(0, 8), at(0, 11)])
  })

  it('a chiller is shared up to its kW', () => {
    const cold = (kW: number) => ({ elapsedMin: 10 * HOUR, crew: 0, crewMin: 0, uses: [{ pool: 'cold', amount: kW }] })
    const { start } = plan({
      tasks: [task('A/c', cold(8)), task('B/c', cold(9.25)), task('C/c', cold(2))],
      units: [unit('CH', 'cold', { capacity: 17.25 })],
    })
    expect(Object.values(start).sort((a, b) => a - b)).toEqual([0, 0, 10 * HOUR])
  })

  it('a fixed booking is kept clear', () => {
    const { start } = plan({
      tasks: [task('A/press', press)],
      units: [unit('PA', 'press', { booked: [{ fromMin: at(0, 9), toMin: at(0, 12), why: 'service' }] })],
    })
    expect(start['A/press']).toBe(at(0, 12))
  })

  const hold = (lot: string, candidates: readonly string[], cleanMin = 0) => ({
    key: `${lot}/in`,
    group: lot,
    from: { task: `${lot}/fill`, edge: 'start' as const },
    to: { task: `${lot}/empty`, edge: 'end' as const },
    candidates,
    count: 1,
    cleanMin,
  })
  const stay = (lot: string, more = {}) => [
    task(`${lot}/fill`, more),
    wait(`${lot}/rest`, 2 * DAY),
    task(`${lot}/empty`),
  ]
  const stayLinks = (lot: string) => [link(`${lot}/fill`, `${lot}/rest`), link(`${lot}/rest`, `${lot}/empty`)]

  it('each lot takes the vessel it likes best that is free from its filling to its emptying', () => {
    const { holds } = plan({
      tasks: [...stay('A'), ...stay('B')],
      links: [...stayLinks('A'), ...stayLinks('B')],
      holds: [hold('A', ['T1', 'T2']), hold('B', ['T1', 'T2'])],
      units: [unit('T1', 'tank'), unit('T2', 'tank')],
    })
    expect(holds.map((h) => h.units)).toEqual([['T1'], ['T2']])
  })

  it('with one vessel the second lot waits until it is empty and clean', () => {
    const { start, of, broken } = plan({
      tasks: [...stay('A'), ...stay('B')],
      links: [...stayLinks('A'), ...stayLinks('B')],
      holds: [hold('A', ['T1'], 40), hold('B', ['T1'], 40)],
      units: [unit('T1', 'tank')],
    })
    expect(broken).toEqual([])
    expect(start['B/fill']).toBe(of('A/empty').endMin + 40)
  })

  it('a lot over several barrels takes as many as it was told', () => {
    const { holds } = plan({
      tasks: stay('A'),
      links: stayLinks('A'),
      holds: [{ ...hold('A', ['B1', 'B2', 'B3', 'B4']), count: 3 }],
      units: [1, 2, 3, 4].map((n) =>
        unit(`B${n}`, 'barrel', n === 2 ? { booked: [{ fromMin: 0, toMin: DAY, why: 'leak' }] } : {}),
      ),
    })
    expect(holds[0]!.units).toEqual(['B1', 'B3', 'B4'])
  })
})

describe('what people have settled', () => {
  it('a pin stays even off shift, and says so', () => {
    const found = plan({ tasks: [task('L/a', { pin: { startMin: at(0, 22), people: ['ana'] } })] })
    expect(found.start['L/a']).toBe(at(0, 22))
    expect(found.broken).toMatchObject([{ rule: 'outside-shift', ref: 'ana', tasks: ['L/a'] }])
  })

  it('other work keeps clear of a pin', () => {
    const { start } = plan({ tasks: [task('A/a'), task('B/b', { pin: { startMin: at(0, 8), people: ['ana'] } })] })
    expect(start).toEqual({ 'A/a': at(0, 9), 'B/b': at(0, 8) })
  })

  it('done and started work never moves; what runs past its time ends no sooner than now', () => {
    const { of } = plan({
      nowMin: at(1, 12),
      tasks: [
        task('L/a', { done: { startMin: at(0, 3), endMin: at(0, 4), people: ['ana'] } }),
        task('L/b', { started: { startMin: at(1, 9), people: ['ana'] } }),
        task('L/c'),
      ],
      links: [link('L/a', 'L/b'), link('L/b', 'L/c')],
    })
    expect(of('L/a')).toMatchObject({ startMin: at(0, 3), endMin: at(0, 4) })
    expect(of('L/b')).toMatchObject({ startMin: at(1, 9), endMin: at(1, 12) })
    expect(of('L/c').startMin).toBe(at(1, 12))
  })

  it('what was not done in time comes now, not into the past', () => {
    expect(plan({ nowMin: at(2, 10), tasks: [task('L/a', { releaseMin: at(0, 8) })] }).start['L/a']).toBe(at(2, 10))
  })

  it('a re-plan with no change moves nothing, though another order would be as good', () => {
    const tasks = ['A', 'B', 'C', 'D'].map((l) => task(`${l}/a`))
    const first = plan({ tasks })
    const turned = first.placed.map((p, k, all) => ({ ...p, startMin: all[all.length - 1 - k]!.startMin }))
    const again = plan({ tasks, previous: turned })
    expect(again.placed.map((p) => p.startMin)).toEqual(turned.map((p) => p.startMin))
  })

  it('one late task moves only what must follow it', () => {
    const tasks = [task('A/a'), task('A/b'), task('B/a'), task('B/b')]
    const links = [link('A/a', 'A/b', DAY), link('B/a', 'B/b', DAY)]
    const first = plan({ tasks, links })
    const later = tasks.map((t) => (t.key === 'A/a' ? { ...t, releaseMin: at(2, 8) } : t))
    const again = plan({ tasks: later, links, previous: first.placed })
    expect(again.start['A/a']).toBe(at(2, 8))
    expect(again.start['A/b']).toBeGreaterThanOrEqual(at(3, 9))
    expect([again.start['B/a'], again.start['B/b']]).toEqual([first.start['B/a'], first.start['B/b']])
    expect(again.of('B/a').people).toEqual(first.of('B/a').people)
  })
})

describe('wishes and limits', () => {
  it('late work ends just before what needs it; near work stands at its minute', () => {
    const { start } = plan({
      tasks: [
        task('L/yeast', { bias: 'late', elapsedMin: 30, crewMin: 30 }),
        task('L/pitch', { bias: { nearMin: at(2, 10) } }),
      ],
      links: [link('L/yeast', 'L/pitch', 0, 5 * HOUR)],
    })
    expect(start).toEqual({ 'L/yeast': at(2, 9.5), 'L/pitch': at(2, 10) })
  })

  it('a start window is kept, and what cannot is said', () => {
    const found = plan({
      tasks: [task('L/a', { startCalendar: 'morning' }), task('L/b', { startCalendar: 'never' })],
      calendars: { day: days(8, 17), morning: days(9, 10), never: [] },
    })
    expect(found.start['L/a']).toBe(at(0, 9))
    expect(found.broken).toMatchObject([{ rule: 'outside-window', ref: 'never', tasks: ['L/b'] }])
  })

  it('a missed deadline is hard or soft as it was given, with the minutes', () => {
    const late = { releaseMin: at(1, 8), dueMin: at(1, 7) }
    const found = plan({ tasks: [task('L/a', late), task('L/b', { ...late, dueStrength: 'soft' })] })
    expect(found.broken.map((b) => [b.rule, b.strength, b.by])).toEqual([
      ['after-due', 'hard', found.of('L/a').startMin - at(1, 7)],
      ['after-due', 'soft', found.of('L/b').startMin - at(1, 7)],
    ])
  })

  it('slack is what is left before a hard limit breaks', () => {
    // b is due to start at 16:00 on the second day and takes a after it: a may slip by a day and 7 h.
    const { of } = plan({
      tasks: [task('L/a'), task('L/b', { dueMin: at(1, 16), dueStrength: 'hard' })],
      links: [link('L/a', 'L/b')],
    })
    expect(of('L/a').latestMin).toBe(at(1, 15))
    expect(of('L/a').slackMin).toBe(at(1, 15) - at(0, 8))
    expect(of('L/b').earliestMin).toBe(HOUR)
  })

  it('nothing fails on nothing', () => {
    expect(schedule(problem())).toEqual({ placed: [], holds: [], broken: [], schedulesUsed: 1 })
  })

  it('a link to a task that is not there is a bug and says which', () => {
    expect(() => schedule(problem({ links: [link('L/a', 'L/b')] }))).toThrow('L/a')
  })
})

describe('why', () => {
  const firstCause = (p: ReturnType<typeof plan>, key: string) => p.of(key).notEarlier[0]

  it('names the fact that set a start: now, release, link, pin', () => {
    const p = plan({
      tasks: [
        wait('L/a', HOUR),
        wait('L/b', HOUR, { releaseMin: 300 }),
        wait('L/c', HOUR),
        wait('L/d', 0, { pin: { startMin: 900 } }),
      ],
      links: [link('L/b', 'L/c', 30)],
    })
    expect(['L/a', 'L/b', 'L/c', 'L/d'].map((k) => firstCause(p, k))).toEqual([
      { kind: 'now' },
      { kind: 'release' },
      { kind: 'link', ref: 'L/b', lagMin: 30 },
      { kind: 'pin' },
    ])
  })

  it('names the shift, and the press and the lot that has it', () => {
    const press = { uses: [{ pool: 'press', amount: 1 }], elapsedMin: 3 * HOUR, crewMin: 30 }
    const p = plan({ tasks: [task('A/press', press), task('B/press', press)], units: [unit('PA', 'press')] })
    expect(firstCause(p, 'A/press')).toEqual({ kind: 'shift', ref: 'ana' })
    expect(firstCause(p, 'B/press')).toEqual({ kind: 'unit', ref: 'PA', by: 'A/press' })
  })

  it('names the person and the work she is on', () => {
    const p = plan({ tasks: [task('A/a'), task('B/b')] })
    expect(firstCause(p, 'B/b')).toEqual({ kind: 'person', ref: 'ana', by: 'A/a' })
  })

  it('names what keeps a task from being later', () => {
    const p = plan({
      tasks: [wait('L/a', HOUR), wait('L/b', HOUR), wait('L/c', HOUR, { dueMin: 500 })],
      links: [link('L/a', 'L/b', 0, 90)],
    })
    expect(p.of('L/a').notLater[0]).toEqual({ kind: 'link', ref: 'L/b', lagMin: 0 })
    expect(p.of('L/b').notLater[0]).toEqual({ kind: 'link', ref: 'L/a', lagMin: 90 })
    expect(p.of('L/c').notLater[0]).toEqual({ kind: 'deadline' })
  })
})
