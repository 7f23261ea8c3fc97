import { describe, expect, it } from 'vitest'
import { schedule } from '../../api/schedule/schedule.ts'
import type { Hold, Problem, Task } from '../../api/schedule/types.ts'
import { judge, reported } from './checker.ts'
import { at, link, problem, task, unit, wait } from './make.ts'

/** Fruit of a lot lies in a cold room from its cooling until it is loaded, the next morning at eight unless told otherwise. */
function cooled(lot: string, tonnes: number, loadMin = at(1, 8), more: Partial<Task> = {}) {
  const hold: Hold = {
    key: `${lot}/room`,
    group: lot,
    from: { task: `${lot}/cool`, edge: 'start' },
    to: { task: `${lot}/load`, edge: 'start' },
    candidates: ['CR', 'CS'],
    count: 1,
    amount: tonnes,
    cleanMin: 0,
  }
  return {
    tasks: [
      wait(`${lot}/cool`, 12 * 60, { releaseMin: at(0, 8), ...more }),
      task(`${lot}/load`, { bias: { nearMin: loadMin } }),
    ],
    links: [link(`${lot}/cool`, `${lot}/load`)],
    holds: [hold],
  }
}

const cellar = (
  lots: readonly ReturnType<typeof cooled>[],
  rooms: readonly [string, number][] = [['CR', 8]],
): Problem =>
  problem({
    tasks: lots.flatMap((l) => l.tasks),
    links: lots.flatMap((l) => l.links),
    holds: lots.flatMap((l) => l.holds),
    units: rooms.map(([id, capacity]) => unit(id, 'room', { capacity })),
  })

/** The plan, once the independent check says the same of it as it says itself. */
function planned(p: Problem) {
  const plan = schedule(p)
  expect(judge(p, plan)).toEqual({ violated: reported(plan), absurd: [] })
  return {
    plan,
    startOf: (key: string) => plan.placed.find((x) => x.key === key)!.startMin,
    unitsOf: (lot: string) => plan.holds.find((h) => h.key === `${lot}/room`)!.units,
  }
}

describe('a cold room of 8 t', () => {
  it('takes 5 t and 3 t at once', () => {
    const { startOf, plan } = planned(cellar([cooled('A', 5), cooled('B', 3, at(1, 9))]))
    expect([startOf('A/cool'), startOf('B/cool'), plan.broken]).toEqual([at(0, 8), at(0, 8), []])
  })

  it('never has 10 t in it, also while cooled fruit only waits for the press: the second lot comes when the first leaves', () => {
    // A is cold at 20:00 and is loaded at 8:00 next day; until then there is room for 3 t, not for 5.
    const { startOf, plan } = planned(cellar([cooled('A', 5), cooled('B', 5, at(2, 8))]))
    expect([startOf('A/cool'), startOf('B/cool'), plan.broken]).toEqual([at(0, 8), at(1, 8), []])
    const cool = plan.placed.find((x) => x.key === 'B/cool')!
    expect(cool.notEarlier[0]).toEqual({ kind: 'unit', ref: 'CR', by: 'A/room' })
  })

  it('says how much is too much where people fix both', () => {
    const pin = { pin: { startMin: at(0, 8) } }
    const { plan } = planned(cellar([cooled('A', 5, at(1, 8), pin), cooled('B', 5, at(1, 9), pin)]))
    expect(plan.broken).toEqual([
      { rule: 'pool-short', strength: 'hard', tasks: expect.arrayContaining(['A/cool', 'B/cool']), ref: 'CR', by: 2 },
    ])
  })

  it('says it of a lot that is larger than the room', () => {
    const { plan } = planned(cellar([cooled('A', 9.5)]))
    expect(plan.broken).toEqual([
      { rule: 'pool-short', strength: 'hard', tasks: ['A/cool', 'A/load'], ref: 'CR', by: 1.5 },
    ])
  })

  it('does not count the lot’s own work in it twice', () => {
    const own = { uses: [{ pool: 'room', amount: 5 }] }
    const { plan } = planned(cellar([cooled('A', 5, at(1, 8), own)]))
    expect(plan.broken).toEqual([])
  })
})

describe('a cold room for less than a tonne', () => {
  it('takes one lot at a time, and says what is too much for it', () => {
    const small: [string, number][] = [['CR', 0.8]]
    const two = planned(cellar([cooled('A', 0.5), cooled('B', 0.3, at(2, 8))], small))
    expect([two.startOf('A/cool'), two.startOf('B/cool'), two.plan.broken]).toEqual([at(0, 8), at(1, 8), []])
    const { broken } = planned(cellar([cooled('A', 1.5)], small)).plan
    expect(broken.map((b) => [b.rule, b.ref, Math.round((b.by ?? 0) * 10)])).toEqual([['pool-short', 'CR', 7]])
  })
})

describe('two cold rooms of 8 and 5 t', () => {
  const rooms = [
    ['CR', 8],
    ['CS', 5],
  ] as [string, number][]

  it('share a lot that no one of them holds: 10 t are 8 and 2', () => {
    const { plan, unitsOf, startOf } = planned(
      cellar([cooled('A', 10), cooled('B', 3, at(1, 9)), cooled('C', 3, at(2, 8))], rooms),
    )
    expect(unitsOf('A')).toEqual(['CR', 'CS'])
    // 3 t are left in the second, for one lot of 3 t and not for two.
    expect([startOf('A/cool'), startOf('B/cool'), startOf('C/cool')]).toEqual([at(0, 8), at(0, 8), at(1, 8)])
    expect(plan.broken).toEqual([])
  })

  it('keep a lot in one of them where one holds it', () => {
    const { unitsOf } = planned(cellar([cooled('A', 5), cooled('B', 5, at(1, 9))], rooms))
    expect([unitsOf('A'), unitsOf('B')]).toEqual([['CR'], ['CS']])
  })

  it('leave it where people know it, when planned again', () => {
    const p = cellar([cooled('A', 10), cooled('B', 3, at(1, 9)), cooled('C', 3, at(2, 8))], rooms)
    const { plan } = planned(p)
    const previous = [
      ...plan.placed,
      ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
    ]
    const again = planned({ ...p, previous }).plan
    expect(again.holds).toEqual(plan.holds)
    expect(again.placed.map((x) => x.startMin)).toEqual(plan.placed.map((x) => x.startMin))
  })
})
