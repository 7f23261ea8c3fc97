import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import { openSession } from '../../api/schedule/session.ts'
import type { Problem } from '../../api/schedule/types.ts'
import { judge, reported } from './checker.ts'
import { at, link, person, problem, task, unit, wait } from './make.ts'
import { randomCellar } from './random.ts'

/** Two sites, 40 minutes there and 40 back. */
const TWO: Problem['travel'] = [
  [0, 40],
  [40, 0],
]

const startsOf = (p: Problem) => Object.fromEntries(schedule(p).placed.map((x) => [x.key, x.startMin]))
const causes = (p: Problem, key: string) => schedule(p).placed.find((x) => x.key === key)!.notEarlier

describe('the way between two sites', () => {
  const two = problem({ tasks: [task('A/rack'), task('B/rack', { site: 1 })], travel: TWO })

  it('lies between one person’s work here and there', () => {
    // Ana begins at 8:00 here, is done at 9:00, 40 min on the way, begins at 9:40 there.
    expect(startsOf(two)).toEqual({ 'A/rack': at(0, 8), 'B/rack': at(0, 9) + 40 })
  })

  it('is the reason that the work over there is no earlier', () => {
    expect(causes(two, 'B/rack')[0]).toEqual({ kind: 'travel', ref: 'ana', by: 'A/rack', lagMin: 40 })
  })

  it('costs nothing where nobody has to go: no table, one site, or no minutes between them', () => {
    const none = { 'A/rack': at(0, 8), 'B/rack': at(0, 9) }
    expect(startsOf({ ...two, tasks: [task('A/rack'), task('B/rack')] })).toEqual(none)
    expect(startsOf({ ...two, tasks: [task('A/rack', { site: 1 }), task('B/rack', { site: 1 })] })).toEqual(none)
    const near: Problem['travel'] = [
      [0, 0],
      [0, 0],
    ]
    expect(startsOf({ ...two, travel: near })).toEqual(none)
  })

  it('is not walked by two people: who is there already goes on there', () => {
    const tasks = [
      task('A/rack'),
      task('B/rack', { site: 1 }),
      task('C/rack', { site: 0, bias: { nearMin: at(0, 9) } }),
      task('D/rack', { site: 1, bias: { nearMin: at(0, 9) } }),
    ]
    const plan = schedule(problem({ tasks, travel: TWO, people: [person('ana'), person('ben')] }))
    // Each stays at a site: 8:00 and 9:00, no way at all.
    const of = Object.fromEntries(plan.placed.map((p) => [p.key, p]))
    expect(plan.placed.map((p) => p.startMin)).toEqual([at(0, 8), at(0, 8), at(0, 9), at(0, 9)])
    expect(of['C/rack']!.people).toEqual(of['A/rack']!.people)
    expect(of['D/rack']!.people).toEqual(of['B/rack']!.people)
  })

  it('goes over a third site where that is shorter', () => {
    // 90 min straight, 20 + 25 over the yard between: 45.
    const travel: Problem['travel'] = [
      [0, 90, 20],
      [90, 0, 25],
      [20, 25, 0],
    ]
    expect(startsOf({ ...two, travel })['B/rack']).toBe(at(0, 9) + 45)
  })

  it('may be longer back than there', () => {
    const travel: Problem['travel'] = [
      [0, 40],
      [70, 0],
    ]
    const back = { ...two, travel, links: [link('B/rack', 'A/rack')] }
    // There first, 8:00 to 9:00, then 70 min back.
    expect(startsOf(back)).toEqual({ 'B/rack': at(0, 8), 'A/rack': at(0, 10) + 10 })
  })

  it('counts within the shift alone where the evening is longer than the way', () => {
    // 17:00 is the end of the day: an hour there no longer fits after 16:00 + 40 min, so it waits for the morning, and
    // the night is way enough.
    const tasks = [task('A/rack', { bias: { nearMin: at(0, 15) } }), task('B/rack', { site: 1, releaseMin: at(0, 16) })]
    expect(startsOf(problem({ tasks, travel: TWO }))).toEqual({ 'A/rack': at(0, 15), 'B/rack': at(1, 8) })
  })

  it('lies before and behind a piece of work that pauses for the night', () => {
    // Six hours from 14:00: three until 17:00, three from 8:00 next day until 11:00, then 40 min on the way.
    const long = task('A/filter', {
      elapsedMin: 360,
      crewMin: 360,
      interruptible: true,
      bias: { nearMin: at(0, 14) },
    })
    const p = problem({ tasks: [long, task('B/rack', { site: 1, releaseMin: at(0, 15) })], travel: TWO })
    expect(startsOf(p)).toEqual({ 'A/filter': at(0, 14), 'B/rack': at(1, 11) + 40 })
  })

  it('is reported where pins leave no time for it, by as much as is wanting', () => {
    // Fixed 8:00-9:00 here and 9:15 there: 15 of 40 minutes, 25 are wanting.
    const tasks = [
      task('A/rack', { pin: { startMin: at(0, 8), people: ['ana'] } }),
      task('B/rack', { site: 1, pin: { startMin: at(0, 9) + 15, people: ['ana'] } }),
    ]
    const pinned = problem({ tasks, travel: TWO })
    const plan = schedule(pinned)
    expect(plan.broken).toEqual([
      { rule: 'travel-short', strength: 'hard', tasks: ['A/rack', 'B/rack'], ref: 'ana', by: 25 },
    ])
    expect(judge(pinned, plan)).toEqual({ violated: reported(plan), absurd: [] })
    // At once they are two things at once, whatever the way.
    const both = tasks.map((t) => ({ ...t, pin: { startMin: at(0, 8), people: ['ana'] } }))
    expect(schedule({ ...pinned, tasks: both }).broken.map((b) => b.rule)).toEqual(['person-taken'])
  })

  it('makes known work give way once the sites are told, and is in what the checker asks', () => {
    const known = [
      { key: 'A/rack', startMin: at(0, 8), people: ['ana'], units: [], broken: [] },
      { key: 'B/rack', startMin: at(0, 9), people: ['ana'], units: [], broken: [] },
    ]
    const plan = schedule({ ...two, previous: known })
    expect(plan.broken).toEqual([])
    const start = (key: string) => plan.placed.find((p) => p.key === key)!.startMin
    expect(Math.abs(start('A/rack') - start('B/rack'))).toBeGreaterThanOrEqual(60 + 40)
    const spoilt = { ...plan, placed: plan.placed.map((p) => ({ ...p, ...span(p.key === 'A/rack' ? 8 : 9) })) }
    expect(judge(two, spoilt).violated).toEqual(['travel-short A/rack+B/rack ana'])
  })

  it('is kept, too, when a lot changes in a session', () => {
    const session = openSession(two)
    const longer = { ...two.tasks[0]!, elapsedMin: 90, crewMin: 90 }
    session.change({ groups: [{ group: 'A', tasks: [longer], links: [], holds: [] }] })
    const { placed } = session.plan()
    const spans = placed.map((p) => [p.startMin, p.crewEndMin] as const).sort((a, b) => a[0] - b[0])
    expect(spans[1]![0] - spans[0]![1]).toBeGreaterThanOrEqual(40)
    expect(session.broken()).toEqual([])
  })

  it('binds nobody for work that runs by itself', () => {
    const p = problem({
      tasks: [task('A/rack'), wait('B/settle', 60, { site: 1, uses: [{ pool: 'tank', amount: 1 }] })],
      units: [unit('T1', 'tank')],
      travel: TWO,
    })
    expect(startsOf(p)).toEqual({ 'A/rack': at(0, 8), 'B/settle': 0 })
  })

  it('is reported wherever a plan made without it is taken over with it, no more and no less', () => {
    let short = 0
    for (let seed = 1; seed < 60; seed += 2) {
      const cellar = randomCellar(seed)
      const before = schedule({
        ...cellar,
        travel: undefined,
        tasks: cellar.tasks.map((t) => ({ ...t, site: undefined })),
      })
      const previous = [
        ...before.placed.map((p) => ({ ...p, broken: [] })),
        ...before.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
      ]
      const after = { ...cellar, previous, moves: 0 }
      const plan = schedule(after)
      expect(judge(after, plan), `seed ${seed}`).toEqual({ violated: reported(plan), absurd: [] })
      short += plan.broken.filter((b) => b.rule === 'travel-short').length
    }
    expect(short).toBeGreaterThan(3)
  })

  it('takes a table of sites that is one, and tasks at its sites alone', () => {
    expect(() => schedule({ ...two, travel: [[0, 40]] })).toThrow('square')
    expect(() => schedule({ ...two, travel: [[0]] })).toThrow('site 1')
  })
})

const span = (hour: number) => ({ startMin: at(0, hour), endMin: at(0, hour + 1), crewEndMin: at(0, hour + 1) })
