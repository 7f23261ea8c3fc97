import { describe, expect, it } from 'vitest'
import { groupsOf } from '../../api/schedule/bundles.ts'
import { schedule } from '../../api/schedule/schedule.ts'
import { openSession } from '../../api/schedule/session.ts'
import type { Plan, Problem } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { judge, reported } from './checker.ts'
import { at, HOUR, link, person, problem, task } from './make.ts'
import { randomCellar } from './random.ts'

const DAY = 1440
const bounds = (plan: Plan) => plan.placed.map((p) => [p.key, p.earliestMin, p.latestMin])
const places = (plan: Plan) => plan.placed.map((p) => [p.key, p.startMin, p.people, p.units])

/** The same problem with the last open task of one lot half a day longer. */
function slipped(asked: Problem, which: number): { readonly later: Problem; readonly group: string } | undefined {
  const open = asked.tasks.filter((t) => !t.done && !t.started)
  const one = open[which % Math.max(1, open.length)]
  if (!one) return undefined
  const tasks = asked.tasks.map((t) => (t === one ? { ...t, elapsedMin: t.elapsedMin + DAY / 2 } : t))
  return { later: { ...asked, tasks }, group: one.group }
}

describe('a plan that is kept ready', () => {
  it('after a change has the bounds of a plan made from scratch, and reports just what is violated', () => {
    let tried = 0
    for (let seed = 0; seed < 70; seed++) {
      const asked = randomCellar(seed)
      const change = slipped(asked, seed)
      if (!change) continue
      const session = openSession(asked)
      session.change({ groups: groupsOf(change.later).filter((g) => g.group === change.group) })
      const plan = session.plan()
      const { violated, absurd } = judge(change.later, plan)
      expect(absurd, `seed ${seed}`).toEqual([])
      expect(reported(plan), `seed ${seed}`).toEqual(violated)
      expect([...bounds(plan)].sort(), `seed ${seed}`).toEqual([...bounds(schedule(change.later))].sort())
      tried++
    }
    expect(tried).toBeGreaterThan(50)
  })

  it('as time goes on moves earliest starts along as a plan from scratch would, and nothing else', () => {
    const asked = cellarOf(sizeFor(6), 3)
    const session = openSession(asked)
    const before = session.plan()
    const nowMin = Math.min(...before.placed.map((p) => p.startMin))
    session.change({ nowMin })
    expect(bounds(session.plan())).toEqual(bounds(schedule({ ...asked, nowMin })))
    expect(places(session.plan())).toEqual(places(before))
  })

  it('with no change moves nothing, however much is broken', () => {
    for (let seed = 0; seed < 50; seed++) {
      const session = openSession(randomCellar(seed))
      const before = session.plan()
      session.change({})
      expect(places(session.plan()), `seed ${seed}`).toEqual(places(before))
    }
  })

  it('leaves other lots alone when one ferment takes a day longer', () => {
    const asked = cellarOf({ ...sizeFor(10), people: 8 }, 4)
    const session = openSession(asked)
    const before = session.plan()
    const group = groupsOf(asked)[0]!
    const tasks = group.tasks.map((t) => (t.key.endsWith('/ferment') ? { ...t, elapsedMin: t.elapsedMin + DAY } : t))
    const changed = session.change({ groups: [{ ...group, tasks }] })
    const others = (plan: Plan) => places(plan).filter(([key]) => !`${key}`.startsWith('L0/'))
    const moved = others(session.plan()).filter((p, i) => JSON.stringify(p) !== JSON.stringify(others(before)[i]))
    expect(moved.length / others(before).length).toBeLessThan(0.02)
    expect(changed.placed.some((p) => p.key === 'L0/dry')).toBe(true)
  })

  it('forgets a lot that is gone', () => {
    const session = openSession(problem({ tasks: [task('A/a'), task('B/b')] }))
    expect(session.change({ groups: [{ group: 'A', tasks: [], links: [], holds: [] }] }).gone).toEqual(['A/a'])
    expect(session.plan().placed.map((p) => p.key)).toEqual(['B/b'])
  })
})

describe('order', () => {
  it('work that is known to stand before what must come first is put behind it', () => {
    // Known: press Monday 9:00. The fruit now comes on Tuesday at 8:00 for an hour, so the press cannot begin before 9:00.
    const asked = problem({
      tasks: [task('L/receive', { releaseMin: at(1, 8) }), task('L/press', { bias: { nearMin: at(0, 9) } })],
      links: [link('L/receive', 'L/press', 0, 4 * HOUR)],
      people: [person('ana'), person('ben')],
      previous: [
        { key: 'L/receive', startMin: at(0, 8), people: ['ana'], units: [] },
        { key: 'L/press', startMin: at(0, 9), people: ['ben'], units: [] },
      ],
    })
    const start = new Map(schedule(asked).placed.map((p) => [p.key, p.startMin]))
    expect(start.get('L/receive')).toBe(at(1, 8))
    expect(start.get('L/press')).toBe(at(1, 9))
  })
})
