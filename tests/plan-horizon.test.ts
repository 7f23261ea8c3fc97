import { describe, expect, it } from 'vitest'
import { demoFacts, MID_VINTAGE_ON } from '../api/demo/facts.ts'
import { liveThrough } from '../api/demo/seed.ts'
import { planCellar } from '../api/plan.ts'
import type { Facts, TaskFact } from '../api/protocol/facts.ts'
import { movedBecause } from '../api/protocol/moved.ts'
import type { CellarPlan, TaskPlan } from '../api/protocol/types.ts'
import { dayOf, type Temporal, wallTimeAt } from '../api/time.ts'

const ZONE = 'Pacific/Auckland'
const OPEN = ['planned', 'due', 'blocked']

/** The demo cellar in the middle of its vintage, at 9 in the morning: its exact weeks end at midnight 8 weeks on. */
const nowAt = wallTimeAt(MID_VINTAGE_ON, 9 * 60, ZONE)
const { facts } = liveThrough(demoFacts(), nowAt)
const plan = planCellar(facts, { nowAt })

const dayIn = (t: Pick<TaskPlan, 'startAt'>) => dayOf(t.startAt, ZONE).toString()
const edge = (at: Temporal.Instant, weeks: number) => dayOf(at, ZONE).add({ weeks }).toString()
const later = (of: Facts, before: CellarPlan, at: Temporal.Instant) =>
  planCellar(of, { nowAt: at, previous: before.tasks })
const changed = (before: CellarPlan, after: CellarPlan, how: (a: TaskPlan, b: TaskPlan) => boolean) => {
  const old = new Map(before.tasks.map((t) => [t.key, t]))
  return after.tasks.filter((t) => {
    const was = old.get(t.key)
    return was !== undefined && how(was, t)
  })
}

describe('the horizon of the demo cellar', () => {
  it('names people up to eight weeks, and plans later work to the day', () => {
    // Midnight of 8 weeks after 27 March (a Saturday) is 22 May: everything before has its minute, all open work from then on its day.
    expect(edge(nowAt, 8)).toBe(MID_VINTAGE_ON.add({ days: 56 }).toString())
    const open = plan.tasks.filter((t) => OPEN.includes(t.state) && !t.pinned)
    const far = open.filter((t) => dayIn(t) >= edge(nowAt, 8))
    const near = open.filter((t) => dayIn(t) < edge(nowAt, 8))
    expect(far.length).toBeGreaterThan(300)
    expect(far.filter((t) => t.grain !== 'day').map((t) => t.key)).toEqual([])
    expect(near.filter((t) => t.grain !== 'minute').map((t) => t.key)).toEqual([])
    expect(far.filter((t) => t.people.length > 0).map((t) => t.key)).toEqual([])
  })

  it('breaks no more than planned to the minute throughout', () => {
    const exact = planCellar({ ...facts, cellar: { ...facts.cellar, exactWeeks: undefined } }, { nowAt })
    expect(plan.broken.filter((b) => b.strength === 'hard').length).toBeLessThanOrEqual(
      exact.broken.filter((b) => b.strength === 'hard').length,
    )
  })

  it('planned again with nothing changed moves nothing and names nobody else', () => {
    const again = later(facts, plan, nowAt)
    const other = changed(
      plan,
      again,
      (a, b) => !a.startAt.equals(b.startAt) || a.grain !== b.grain || a.people.join() !== b.people.join(),
    )
    expect(other.map((t) => t.key)).toEqual([])
  })

  it('rolls on by a day: the work of that day gets hour and hands, and is told as no move', () => {
    let before = plan
    let history = facts.taskFacts
    let gone = 0
    for (let night = 1; night <= 7; night++) {
      const at = wallTimeAt(MID_VINTAGE_ON.add({ days: night }), 2 * 60, ZONE)
      // The days go as planned: what was to be done is done, what was to begin has begun.
      const begun = before.tasks.filter(
        (t) => OPEN.includes(t.state) && t.startAt.epochMilliseconds < at.epochMilliseconds,
      )
      history = [
        ...history,
        ...begun.map((t): TaskFact => {
          const isOver = t.endAt.epochMilliseconds <= at.epochMilliseconds
          const kind = isOver ? ('done' as const) : ('start' as const)
          const one = { id: `${kind} ${t.key}`, taskKey: t.key, kind, startAt: t.startAt, people: t.people }
          return { ...one, at: isOver ? t.endAt : t.startAt }
        }),
        ...before.tasks
          .filter((t) => t.state === 'underway' && t.endAt.epochMilliseconds <= at.epochMilliseconds)
          .map((t): TaskFact => ({ id: `end ${t.key}`, taskKey: t.key, kind: 'done', at: t.endAt, people: t.people })),
      ]
      const told: Facts = { ...facts, taskFacts: history }
      const after = later(told, before, at)
      const come = before.tasks.filter((t) => t.grain === 'day' && dayIn(t) < edge(at, 8))
      const now = new Map(after.tasks.map((t) => [t.key, t]))
      for (const t of come) expect([t.key, now.get(t.key)?.grain]).toEqual([t.key, 'minute'])
      const moves = movedBecause(
        { tasks: new Map(before.tasks.map((t) => [t.key, t])), dryAt: new Map(), malicGoneAt: new Map() },
        after,
        ZONE,
        at,
      )
      expect([...moves].map(([key, m]) => `${key} ${m.words}`)).toEqual([])
      for (const t of come) {
        const { crew, crewMin, people } = now.get(t.key)!
        if (crew > 0 && crewMin > 0) expect([t.key, people.length]).toEqual([t.key, crew])
      }
      gone += come.length
      before = after
    }
    expect(gone).toBeGreaterThan(10)
  })
  it('what a person pins gets its minute and its hands, however far it lies', () => {
    const one = plan.tasks.find((t) => t.grain === 'day' && t.crew > 0 && t.crewMin > 0)!
    const pin: TaskFact = { id: 'pin', taskKey: one.key, kind: 'pin', at: nowAt, startAt: one.startAt }
    const after = later({ ...facts, taskFacts: [...facts.taskFacts, pin] }, plan, nowAt)
    const t = after.tasks.find((x) => x.key === one.key)!
    expect([t.grain, t.startAt.toString(), t.people.length]).toEqual(['minute', one.startAt.toString(), one.crew])
  })

  it('names of one week more or less are not taken back by a plan of its own', () => {
    // Six weeks instead of eight: what is told to the minute stays so up to a week beyond the edge.
    const shorter = later({ ...facts, cellar: { ...facts.cellar, exactWeeks: 6 } }, plan, nowAt)
    const near = shorter.tasks.filter((t) => OPEN.includes(t.state) && dayIn(t) < edge(nowAt, 7))
    const far = shorter.tasks.filter((t) => OPEN.includes(t.state) && !t.pinned && dayIn(t) >= edge(nowAt, 7))
    expect(near.filter((t) => t.grain === 'day')).toEqual([])
    expect(far.filter((t) => t.grain === 'minute')).toEqual([])
  })
})
