import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { layCellar } from '../../api/plan.ts'
import { momentAt, Temporal } from '../../api/time.ts'
import { EARLY } from '../helpers/make.ts'

/** The invented cellar's whole vintage: twelve lots, two presses, one chiller, six people. */
const facts = demoFacts()
const { plan, problem, works, ground } = layCellar(facts, { nowAt: EARLY })
const placed = new Map(plan.placed.map((p) => [p.key, p]))
const told = new Set(plan.broken.flatMap((b) => b.tasks))
const stepOf = new Map(works.map((w) => [w.task.key, w.step]))
const dayOfMin = (min: number) =>
  momentAt(ground.startAt, min).toZonedDateTimeISO(facts.cellar.zone).toPlainDate().toString()

describe('resources of a whole vintage', () => {
  it('a press is washed by somebody between two lots', () => {
    const presses = facts.machines.filter((m) => m.kind === 'press').map((m) => m.id)
    let changes = 0
    for (const press of presses) {
      const stays = plan.holds
        .filter((h) => h.units.includes(press))
        .map((h) => ({ ...h, lot: h.key.split('/')[0]! }))
        .sort((a, b) => a.fromMin - b.fromMin)
      stays.slice(1).forEach((next, k) => {
        const before = stays[k]!
        if (before.lot === next.lot) return
        changes++
        const hold = problem.holds.find((h) => h.key === before.key)!
        // The lot keeps the press until it is washed: the washing is the last work of its stay.
        const washed = placed.get(hold.to.task)!
        expect(stepOf.get(hold.to.task), `${before.key} before ${next.key}`).toMatch(/clean-press|empty-press/)
        expect(washed.endMin).toBeLessThanOrEqual(next.fromMin)
      })
    }
    expect(changes).toBeGreaterThan(3)
  })

  it('no vessel takes a second lot before the first has left it, and time to clean it is kept', () => {
    const cleanMin = new Map(problem.holds.map((h) => [h.key, h.cleanMin]))
    const group = new Map(problem.holds.map((h) => [h.key, h.group]))
    let followed = 0
    for (const { id } of facts.vessels) {
      const stays = plan.holds.filter((h) => h.units.includes(id)).sort((a, b) => a.fromMin - b.fromMin)
      stays.slice(1).forEach((next, k) => {
        const before = stays[k]!
        if (group.get(before.key) === group.get(next.key)) return
        followed++
        const hold = problem.holds.find((h) => h.key === next.key)!
        if (told.has(hold.from.task)) return
        expect(next.fromMin - before.toMin, `${before.key} then ${next.key} in ${id}`).toBeGreaterThanOrEqual(
          cleanMin.get(next.key)!,
        )
      })
    }
    expect(followed).toBeGreaterThan(3)
  })

  it('the tank that juice is let into is cleaned and sanitised before', () => {
    for (const lot of facts.lots) {
      const fill = problem.holds.find((h) => h.key === `${lot.code}/settle`)
      if (!fill) continue
      const cleaned = problem.links.filter((l) => l.next === fill.from.task || l.prev === fill.from.task)
      const keys = [fill.from.task, ...cleaned.flatMap((l) => [l.prev, l.next])]
      expect(
        keys.some((key) => stepOf.get(key) === 'clean-tank'),
        lot.code,
      ).toBe(true)
    }
  })

  it('never asks the chiller for more than it has, hour by hour, without saying so', () => {
    const chillers = problem.units.filter((u) => u.pool === 'chiller')
    const hasKW = chillers.reduce((sum, u) => sum + u.capacity, 0)
    const draws = problem.tasks.flatMap((t) =>
      t.uses.filter((u) => u.pool === 'chiller').map((u) => ({ ...placed.get(t.key)!, kW: u.amount })),
    )
    expect(hasKW).toBeGreaterThan(0)
    expect(draws.length).toBeGreaterThan(10)
    const said = new Set(
      plan.broken
        .filter((b) => b.rule === 'pool-short' && chillers.some((c) => c.id === b.ref))
        .flatMap((b) => b.tasks),
    )
    const hours = [...new Set(draws.map((d) => Math.floor(d.startMin / 60)))]
    const over = hours.filter((hour) => {
      const at = hour * 60 + 59
      const open = draws.filter((d) => d.startMin <= at && at < d.endMin)
      // What was said of the work that draws then counts for these hours alone.
      return open.reduce((sum, d) => sum + d.kW, 0) > hasKW + 1e-6 && !open.some((d) => said.has(d.key))
    })
    expect(over).toEqual([])
  })

  it('gives work to nobody outside their season or on an absence, and never half a crew in silence', () => {
    let named = 0
    for (const task of problem.tasks) {
      const { people, startMin, byDay } = placed.get(task.key)!
      if (task.crew === 0 || task.crewMin === 0) continue
      // Planned to the day: its hands are named nearer to it, and the day's hours are held elsewhere.
      if (byDay) {
        expect([task.key, people]).toEqual([task.key, []])
        continue
      }
      named++
      if (people.length < task.crew)
        expect(told.has(task.key), `${task.key} has ${people.length} of ${task.crew}`).toBe(true)
      const at = momentAt(ground.startAt, startMin)
      for (const id of people) {
        const person = facts.people.find((p) => p.id === id)!
        const on = dayOfMin(startMin)
        const away = person.absences.some(
          (a) => Temporal.Instant.compare(a.fromAt, at) <= 0 && Temporal.Instant.compare(at, a.toAt) < 0,
        )
        const inSeason = on >= (person.fromOn?.toString() ?? '') && on <= (person.untilOn?.toString() ?? '9')
        if (!told.has(task.key)) expect(`${task.key} ${id} ${away} ${inSeason}`).toBe(`${task.key} ${id} false true`)
      }
      for (const skill of task.skills)
        if (!told.has(task.key))
          expect(
            people.some((id) => facts.people.find((p) => p.id === id)?.skills.includes(skill)),
            `${task.key} wants ${skill}`,
          ).toBe(true)
    }
    expect(named).toBeGreaterThan(100)
  })
})
