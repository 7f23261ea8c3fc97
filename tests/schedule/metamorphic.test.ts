import { describe, expect, it } from 'vitest'
import { modelOf } from '../../api/schedule/model.ts'
import { networkOf, newLabels } from '../../api/schedule/network.ts'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Link, Plan, Problem, Task } from '../../api/schedule/types.ts'
import { cellarOf, sizeFor } from '../helpers/cellars.ts'
import { chanceOf } from '../helpers/chance.ts'
import { link, problem, unit, wait } from './make.ts'
import { randomCellar } from './random.ts'

const seeds = Array.from({ length: 60 }, (_, k) => k)
const laid = (plan: Plan) => plan.placed.map((p) => ({ ...p, notEarlier: [], notLater: [] }))
const spanOf = (plan: Plan) => plan.placed.reduce((last, p) => Math.max(last, p.endMin), 0)

/** Lags and two shared machines, nothing else: what the public instances have. */
function bare(seed: number, scale = 1): Problem {
  const chance = chanceOf(seed)
  const tasks: Task[] = Array.from({ length: 14 }, (_, k) =>
    wait(`j${k}`, chance.whole(1, 9) * scale, {
      uses: [
        ...(chance.maybe(0.7) ? [{ pool: 'R', amount: chance.whole(1, 5) }] : []),
        ...(chance.maybe(0.5) ? [{ pool: 'S', amount: chance.whole(1, 4) }] : []),
      ],
    }),
  )
  const links: Link[] = tasks.flatMap((t, k) =>
    [k + 1, k + 2, k + 5]
      .filter((n) => n < tasks.length && chance.maybe(0.45))
      .map((n) => {
        const lag = chance.whole(0, 4) * scale
        return link(t.key, tasks[n]!.key, lag, chance.maybe(0.3) ? lag + 25 * scale : undefined)
      }),
  )
  const units = [unit('R', 'R', { capacity: 7 }), unit('S', 'S', { capacity: 5 })]
  return problem({ tasks, links, people: [], units, horizonMin: 1e6, seed, moves: 300 })
}

describe('the same problem in other words has the same plan', () => {
  it.each(seeds)('seed %i: planned twice', (seed) => {
    expect(schedule(randomCellar(seed))).toEqual(schedule(randomCellar(seed)))
  })

  it.each(seeds)('seed %i: a calendar that is always open is none', (seed) => {
    const asked = randomCellar(seed)
    const always = { ...asked, calendars: { ...asked.calendars, always: [[-1e9, 1e9] as const] } }
    const tasks = asked.tasks.map((t) => (t.startCalendar === undefined ? { ...t, startCalendar: 'always' } : t))
    const units = asked.units.map((u) => (u.calendar === undefined ? { ...u, calendar: 'always' } : u))
    expect(laid(schedule({ ...always, tasks, units }))).toEqual(laid(schedule(asked)))
  })

  it.each(seeds)('seed %i: other keys, same dates', (seed) => {
    const asked = randomCellar(seed)
    const other = JSON.parse(JSON.stringify(asked).replaceAll('/s', '/step-')) as Problem
    expect(schedule(other).placed.map((p) => p.startMin)).toEqual(schedule(asked).placed.map((p) => p.startMin))
  })

  it.each(seeds)('seed %i: minutes counted in sixtieths give sixty times the minutes', (seed) => {
    expect(spanOf(schedule(bare(seed, 60)))).toBe(60 * spanOf(schedule(bare(seed))))
  })

  it.each(seeds.slice(0, 25))('seed %i: tasks in another order, or time run backward, need no longer', (seed) => {
    const asked = bare(seed)
    const turned = { ...asked, tasks: [...asked.tasks].reverse(), links: [...asked.links].reverse() }
    const back = {
      ...asked,
      links: asked.links.map((l) => ({ ...l, prev: l.next, next: l.prev })),
    }
    const clean = (plan: Plan) => (plan.broken.length === 0 ? spanOf(plan) : undefined)
    const span = clean(schedule(asked))
    expect(clean(schedule(turned))).toBe(span)
    expect(clean(schedule(back))).toBe(span)
  })
})

describe('planning again', () => {
  const vintages = Array.from({ length: 12 }, (_, k) => cellarOf({ ...sizeFor(5), people: 4, tanks: 8 }, k))
  const sound = [...Array.from({ length: 900 }, (_, k) => randomCellar(k)), ...vintages]
    .map((asked) => ({ asked, plan: schedule(asked) }))
    .filter(({ plan }) => plan.broken.length === 0)

  it('has sound plans to try', () => expect(sound.length).toBeGreaterThan(30))

  it('with no change moves nothing', () => {
    for (const { asked, plan } of sound) {
      const known = [
        ...plan.placed.map(({ key, startMin, people, units }) => ({ key, startMin, people, units })),
        ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
      ]
      const again = schedule({ ...asked, previous: known })
      expect(again.placed.map((p) => [p.key, p.startMin, p.people, p.units])).toEqual(
        plan.placed.map((p) => [p.key, p.startMin, p.people, p.units]),
      )
      expect(again.holds).toEqual(plan.holds)
    }
  })

  it('with more moves never breaks more hard rules', () => {
    for (let seed = 0; seed < 40; seed++) {
      const hard = (moves: number) =>
        schedule({ ...randomCellar(seed), moves }).broken.filter((b) => b.strength === 'hard').length
      expect(hard(12)).toBeLessThanOrEqual(hard(1))
    }
  })
})

describe('bounds', () => {
  it('carried on from one change are the bounds carried from the start', () => {
    const model = modelOf(cellarOf(sizeFor(6), 3))
    const off = { minOff: new Uint8Array(model.links.length), maxOff: new Uint8Array(model.links.length) }
    const network = networkOf(model, off)
    const all = [...model.tasks.keys()]
    const whole = newLabels(all.length)
    network.reset(whole, false)
    network.spreadLo(whole, all)
    const chance = chanceOf(5)
    for (let k = 0; k < 50; k++) {
      const i = chance.whole(0, all.length - 1)
      const later = whole.lo[i]! + chance.whole(1, 3000)
      const scratch = newLabels(all.length)
      network.reset(scratch, false)
      scratch.lo[i] = later
      network.spreadLo(scratch, all)
      const carried = { ...whole, lo: whole.lo.slice(), loBy: whole.loBy.slice() }
      carried.lo[i] = later
      network.spreadLo(carried, [i])
      expect([...carried.lo]).toEqual([...scratch.lo])
    }
  })
})
