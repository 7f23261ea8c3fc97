import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Problem } from '../../api/schedule/types.ts'
import { judge, reported } from './checker.ts'
import { at, DAY, days, HOUR, link, person, problem, task, unit, wait } from './make.ts'

const planOf = (more: Partial<Problem>) => {
  const asked = problem(more)
  const plan = schedule(asked)
  const { violated, absurd } = judge(asked, plan)
  expect([absurd, violated]).toEqual([[], reported(plan)])
  return { ...plan, of: (key: string) => plan.placed.find((p) => p.key === key)! }
}
const words = (plan: { broken: readonly { rule: string; strength: string; tasks: readonly string[] }[] }) =>
  plan.broken.map((b) => `${b.strength} ${b.rule} ${b.tasks.join(' ')}`)

describe('a wish gives way before a hard limit does', () => {
  it('the line is washed in the morning, with hands, rather than within two hours and by nobody', () => {
    // Loaded until 17:00, when everybody goes home; washed within two hours if it may be, by two.
    const plan = planOf({
      people: [person('ana'), person('ben')],
      tasks: [task('L/load', { pin: { startMin: at(0, 16) }, weight: 8 }), task('L/wash', { crew: 2, weight: 4 })],
      links: [link('L/load', 'L/wash', 0, 2 * HOUR, { strength: 'soft' })],
    })
    expect(plan.of('L/wash')).toMatchObject({ startMin: at(1, 8), people: ['ana', 'ben'] })
    expect(words(plan)).toEqual(['soft link-too-long L/load L/wash'])
  })
})

describe('short and lighter work gives way to work that would have nobody', () => {
  const known = (key: string, startMin: number) => ({ key, startMin, people: ['ana'], units: [] })

  // Ana alone. Fruit that came two hours later than thought is pressed at once, at 10:00; at 10:30 she walks a round.
  const asked = (round: object) =>
    planOf({
      tasks: [
        task('A/round', { elapsedMin: 15, crewMin: 15, weight: 4, ...round }),
        wait('B/fruit', 0, { pin: { startMin: at(0, 10) } }),
        task('B/press', { weight: 8 }),
      ],
      links: [link('B/fruit', 'B/press', 0, 0)],
      previous: [known('A/round', at(0, 10.5)), known('B/fruit', at(0, 8)), known('B/press', at(0, 8))],
    })

  it('a round of another lot goes to an hour at which the person is free', () => {
    const plan = asked({ dueMin: at(0, 15), dueStrength: 'hard' })
    expect(words(plan)).toEqual([])
    expect(plan.of('B/press')).toMatchObject({ startMin: at(0, 10), people: ['ana'] })
    const round = plan.of('A/round')
    expect(round.people).toEqual(['ana'])
    expect(round.endMin <= at(0, 10) || round.startMin >= at(0, 11)).toBe(true)
  })

  it('but a round that a person has pinned stays', () => {
    const plan = asked({ pin: { startMin: at(0, 10.5) } })
    expect(plan.of('A/round').startMin).toBe(at(0, 10.5))
    expect(words(plan)).toEqual(['hard no-person B/press'])
  })
})

describe('a machine that is out of service', () => {
  it('is not planned on while it is away, though nobody is there to use it afterwards', () => {
    // Away until 17:00; loaded by 20:00 at the last, when nobody is there: that it lacks hands is told, not that the press has it.
    const plan = planOf({
      tasks: [
        wait('L/fruit', 0, { pin: { startMin: at(0, 8) } }),
        task('L/load', { weight: 8, uses: [{ pool: 'press', amount: 1 }] }),
      ],
      links: [link('L/fruit', 'L/load', 0, 12 * HOUR)],
      units: [unit('PA', 'press', { booked: [{ fromMin: 0, toMin: at(0, 17), why: 'torn' }] })],
      calendars: { day: [[at(0, 8), at(0, 17)], ...days(8, 17).filter(([from]) => from > 2 * DAY)] },
    })
    expect(plan.of('L/load').startMin).toBeGreaterThanOrEqual(at(0, 17))
    expect(words(plan)).toEqual(['hard no-person L/load'])
  })
})

describe('what is lacking', () => {
  it('is told once: a hand that is not there has no skill either', () => {
    expect(words(planOf({ tasks: [task('L/a', { skills: ['forklift'], pin: { startMin: at(0, 20) } })] }))).toEqual([
      'hard no-person L/a',
    ])
  })
})
