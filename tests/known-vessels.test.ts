import { describe, expect, it } from 'vitest'
import { demoFacts } from '../api/demo/facts.ts'
import { liveThrough } from '../api/demo/seed.ts'
import { knownPlanOf } from '../api/known-plan.ts'
import { planned } from '../api/order.ts'
import type { Facts } from '../api/protocol/facts.ts'
import type { CellarPlan, TaskPlan } from '../api/protocol/types.ts'
import { Temporal } from '../api/time.ts'
import type { StoredTask } from '../db/queries/tasks.ts'

/** Mon 22 March 2027, 06:30 in the invented cellar, in the middle of its vintage. */
const nowAt = Temporal.Instant.from('2027-03-21T17:30:00Z')
const { facts, plan } = liveThrough(demoFacts(), nowAt)

/** A row as it is kept: what the planner knows of it, and nothing else. */
const row = (t: TaskPlan): StoredTask =>
  ({
    ...t,
    rest: { ...t, earliestAt: t.earliestAt.toString(), latestAt: t.latestAt.toString() },
  }) as unknown as StoredTask

/** Planned again five minutes on, by a server that has nothing but what is stored. */
const again = (of: Facts): CellarPlan =>
  planned({ facts: of, nowAt: nowAt.add({ minutes: 5 }), ...knownPlanOf(plan.tasks.map(row), of) }, {}).plan

const vessels = (t: TaskPlan) => `${t.key}: ${t.fromVessels} > ${t.toVessels}`
/** Tasks whose wine lies elsewhere now. */
const elsewhere = (after: CellarPlan, own: (t: TaskPlan) => boolean = () => false) => {
  const was = new Map(plan.tasks.map((t) => [t.key, vessels(t)]))
  return after.tasks.filter((t) => was.has(t.key) && was.get(t.key) !== vessels(t) && !own(t)).map(vessels)
}

describe('a plan made from what is stored', () => {
  it('leaves every lot in its vessels and every task at its time where nothing is new', () => {
    const after = again(facts)
    expect(elsewhere(after)).toEqual([])
    const was = new Map(plan.tasks.map((t) => [t.key, t.startAt.toString()]))
    const moved = after.tasks.filter((t) => was.has(t.key) && was.get(t.key) !== t.startAt.toString())
    expect(moved.map((t) => t.key)).toEqual([])
  })

  it('leaves the others in their vessels where one is picked a day later', () => {
    const pickOn = Temporal.PlainDate.from('2027-03-31')
    const later = { ...facts, lots: facts.lots.map((l) => (l.code === 'L07' ? { ...l, pickOn } : l)) }
    expect(elsewhere(again(later), (t) => t.key.startsWith('L07/'))).toEqual([])
  })

  it('gives work of somebody who is ill to others without breaking a hard rule', () => {
    const toAt = nowAt.add({ hours: 11 })
    for (const ill of ['alex', 'kim']) {
      const people = facts.people.map((p) =>
        p.id === ill ? { ...p, absences: [...p.absences, { id: 'ill', fromAt: nowAt, toAt, reason: 'ill' }] } : p,
      )
      const after = again({ ...facts, people })
      const theirs = after.tasks.filter(
        (t) =>
          t.people.includes(ill) &&
          t.crew > 0 &&
          (t.state === 'planned' || t.state === 'due') &&
          t.startAt.epochMilliseconds < toAt.epochMilliseconds,
      )
      expect([ill, theirs.map((t) => t.key)]).toEqual([ill, []])
      expect([ill, after.broken.filter((b) => b.strength === 'hard').map((b) => b.words)]).toEqual([ill, []])
    }
  })
})
