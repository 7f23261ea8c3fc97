import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Problem, Task } from '../../api/schedule/types.ts'
import { at, days, person, problem, task } from './make.ts'

/** An hour inside a tank: one goes in, one stays outside. */
const entry = (more: Partial<Task> = {}): Task =>
  task('L/permit-entry', { crew: 2, whole: true, skills: ['confined-space'], ...more })

/** Ana works 8 to 17 every day; Ben is there on the third day alone. */
const here: Partial<Problem> = {
  people: [person('ana', ['confined-space']), person('ben', [], 'ben')],
  calendars: { day: days(8, 17), ben: [[at(2, 8), at(2, 17)]] },
}
const only = (more: Partial<Problem>) => {
  const plan = schedule(problem({ ...here, ...more }))
  const one = plan.placed[0]!
  return { startMin: one.startMin, people: one.people, broken: plan.broken.map((b) => b.rule) }
}

describe('a job of two under a permit', () => {
  it('waits for the day on which both are there: the third, at eight', () => {
    expect(only({ tasks: [entry()] })).toEqual({ startMin: at(2, 8), people: ['ana', 'ben'], broken: [] })
  })

  it('is done by nobody rather than by one, where it must be done on a day with one, and that is said', () => {
    const due = { dueMin: at(0, 12), dueStrength: 'hard' as const }
    const found = only({ tasks: [entry(due)] })
    expect(found.people.length).not.toBe(1)
    expect(found.broken.length).toBeGreaterThan(0)
  })

  it('has nobody where there is but one person at all', () => {
    const people = [person('ana', ['confined-space'])]
    const found = only({ people, tasks: [entry()] })
    expect(found.people).toEqual([])
    expect(found.broken).toContain('no-person')
    // Other work for two is done by the one who is there, and that is said too.
    expect(only({ people, tasks: [task('L/move', { crew: 2 })] })).toMatchObject({
      people: ['ana'],
      broken: ['no-person'],
    })
  })

  it('is not left to one of the two when the other falls ill after it was planned', () => {
    // Known for Monday 8:00 with both; Ben is off until the third day.
    const previous = [{ key: 'L/permit-entry', startMin: at(0, 8), people: ['ana', 'ben'], units: [], broken: [] }]
    expect(only({ tasks: [entry()], previous })).toEqual({ startMin: at(2, 8), people: ['ana', 'ben'], broken: [] })
    // Told with one alone, it is not taken over like that.
    const half = [{ ...previous[0]!, people: ['ana'] }]
    expect(only({ tasks: [entry()], previous: half }).people).toEqual(['ana', 'ben'])
  })
})
