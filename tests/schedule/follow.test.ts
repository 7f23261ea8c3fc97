import { describe, expect, it } from 'vitest'
import { type Kept, schedule, scheduleNext } from '../../api/schedule/schedule.ts'
import type { Plan, Problem, Task } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { type Chance, chanceOf } from '../helpers/chance.ts'
import { randomCellar } from './random.ts'

const HOUR = 60

/** What people know of a plan, with what they know to be broken. */
function knownBy(plan: Plan): NonNullable<Problem['previous']> {
  return [
    ...plan.placed.map(({ key, startMin, people, units }) => ({
      key,
      startMin,
      people,
      units,
      broken: plan.broken.filter((b) => b.tasks.includes(key)).map((b) => b.rule),
    })),
    ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
  ]
}

/** An hour or a day goes by, and something is told: work ended, begun, fixed, longer, gone, or nothing at all. */
function later(asked: Problem, plan: Plan, chance: Chance): Problem {
  const nowMin = asked.nowMin + chance.pick([0, 5, HOUR, 9 * HOUR, 30 * HOUR])
  const placed = new Map(plan.placed.map((p) => [p.key, p]))
  const told = (t: Task): Task => {
    const { startMin, endMin, people, units } = placed.get(t.key)!
    if (t.done) return t
    if (endMin <= nowMin && chance.maybe(0.7))
      return { ...t, started: undefined, done: { startMin, endMin, people, units } }
    if (startMin < nowMin && chance.maybe(0.7)) return t.started ? t : { ...t, started: { startMin, people, units } }
    if (chance.maybe(0.03)) return { ...t, elapsedMin: t.elapsedMin + chance.whole(1, 40) * 15 }
    if (chance.maybe(0.02)) return { ...t, pin: { startMin: Math.max(nowMin, startMin) + chance.whole(-20, 40) * 15 } }
    return chance.maybe(0.01) ? { ...t, pin: undefined, started: undefined } : t
  }
  const one = chance.pick(asked.tasks.map((t) => t.group))
  const all = chance.maybe(0.3)
  return {
    ...asked,
    nowMin,
    tasks: asked.tasks.map((t) => (all || t.group === one ? told(t) : t)),
    previous: chance.maybe(0.9) ? knownBy(plan) : knownBy(plan).filter(() => chance.maybe(0.95)),
  }
}

const said = ({ schedulesUsed: _, ...plan }: Plan) => plan

/** Follows a history and plans each of its moments from scratch too; how often it could go on from before. */
function history(first: Problem, steps: number, chance: Chance, name: string): number {
  const kept: Kept = {}
  let asked = first
  let plan = scheduleNext(kept, asked)
  let followed = 0
  for (let k = 0; k < steps; k++) {
    asked = later(asked, plan, chance)
    const before = kept.session
    const next = scheduleNext(kept, asked)
    if (kept.session === before) followed++
    expect(said(next), `${name}, step ${k}`).toEqual(said(schedule(asked)))
    plan = next
  }
  return followed
}

describe('a plan that goes on from the one before', () => {
  it.each([0, 1, 2, 3])('is the plan made from scratch, causes and all, in random cellars (%i)', (part) => {
    let followed = 0
    for (let seed = part * 30; seed < part * 30 + 30; seed++)
      followed += history(randomCellar(seed), 6, chanceOf(seed + 1), `seed ${seed}`)
    expect(followed).toBeGreaterThan(120)
  })

  it('is the plan made from scratch in cellars of the trade', () => {
    for (let seed = 1; seed <= 3; seed++)
      expect(history(cellarOf(sizeFor(6), seed), 8, chanceOf(seed), `cellar ${seed}`)).toBe(8)
  })
})
