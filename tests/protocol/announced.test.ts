import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { guardedPlan, type KnownTask, proposedMove } from '../../api/protocol/announced.ts'
import type { Facts } from '../../api/protocol/facts.ts'
import type { Because } from '../../api/protocol/moved.ts'
import type { BrokenWords, CellarPlan, TaskPlan } from '../../api/protocol/types.ts'
import { Temporal, wallTimeAt } from '../../api/time.ts'

const ZONE = 'Pacific/Auckland'
const facts = demoFacts()
const at = (day: number, hour: number) => wallTimeAt(Temporal.PlainDate.from(`2027-03-${day}`), hour * 60, ZONE)
const NOW = at(22, 6)

const known = (key: string, startAt: Temporal.Instant, more: Partial<KnownTask> = {}): KnownTask => ({
  key,
  lotId: key.split('/')[0]!,
  state: 'planned',
  startAt,
  endAt: startAt.add({ hours: 1 }),
  people: ['kim'],
  pinned: false,
  ...more,
})

const task = (key: string, startAt: Temporal.Instant, people: readonly string[] = ['kim']) =>
  ({ ...known(key, startAt, { people }), lotCode: key.split('/')[0], name: 'Work', why: '' }) as unknown as TaskPlan

const plan = (tasks: readonly TaskPlan[], broken: readonly BrokenWords[] = []): CellarPlan => ({
  tasks,
  broken,
  phases: [],
  conflicts: [],
  forecasts: [],
})

const hard = (...taskKeys: string[]): BrokenWords => ({ rule: 'person-taken', strength: 'hard', taskKeys, words: '' })

/** A planner that puts every task where the free plan wants it, unless it is pinned; and breaks what it is told. */
const planner = (free: CellarPlan, brokenWhile: (pins: ReadonlySet<string>) => readonly BrokenWords[] = () => []) => {
  const asked: string[][] = []
  const planOf = (of: Facts): CellarPlan => {
    const pins = new Map(of.taskFacts.map((f) => [f.taskKey, f]))
    asked.push([...pins.keys()])
    return plan(
      free.tasks.map((t) => {
        const pin = pins.get(t.key)
        return pin ? { ...t, startAt: pin.startAt!, people: pin.people ?? [], pinned: true } : t
      }),
      brokenWhile(new Set(pins.keys())),
    )
  }
  return { planOf, asked }
}

const decide = (
  was: readonly KnownTask[],
  free: CellarPlan,
  because: Because,
  brokenWhile?: Parameters<typeof planner>[1],
  agreed?: ReadonlySet<string>,
) => {
  const { planOf, asked } = planner(free, brokenWhile)
  const given = { facts, known: was, free, nowAt: NOW, because, ...(agreed ? { agreed } : {}) }
  const guarded = guardedPlan(given, planOf)
  return {
    asked,
    waits: guarded.moves.filter((m) => !m.applied).map((m) => m.was.key),
    applied: guarded.moves.filter((m) => m.applied).map((m) => m.was.key),
    start: (key: string) => guarded.plan.tasks.find((t) => t.key === key)!.startAt.toString(),
    plan: guarded.plan,
  }
}

const BECAUSE: Because = { words: 'a reading', asks: true }

describe('work that people have been told of', () => {
  it('today and tomorrow waits for a word; later work simply moves', () => {
    const was = [known('A/x/1', at(22, 9)), known('B/x/1', at(23, 23)), known('C/x/1', at(24, 1))]
    const free = plan([task('A/x/1', at(22, 11)), task('B/x/1', at(24, 9)), task('C/x/1', at(24, 9))])
    const { waits, applied, start, asked } = decide(was, free, BECAUSE)
    expect([waits, applied]).toEqual([['A/x/1', 'B/x/1'], []])
    expect(asked).toEqual([['A/x/1', 'B/x/1']])
    expect(start('A/x/1')).toBe(at(22, 9).toString())
    expect(start('C/x/1')).toBe(at(24, 9).toString())
  })

  it('is not what only a day was known of: nobody has been told its hour or given it', () => {
    // A cellar that was not planned for two months finds work by the day standing tomorrow.
    const was = [known('A/x/1', at(23, 9), { people: [], grain: 'day' })]
    const { waits, asked } = decide(was, plan([task('A/x/1', at(23, 14))]), BECAUSE)
    expect([waits, asked]).toEqual([[], []])
  })

  it('is not asked about where it moves by less than a quarter of an hour and stays in the same hands', () => {
    const was = [known('A/x/1', at(22, 9)), known('B/x/1', at(22, 9))]
    const soon = at(22, 9).add({ minutes: 14 })
    const other = decide(was, plan([task('A/x/1', soon), task('B/x/1', at(22, 9), ['sam'])]), BECAUSE)
    expect(other.waits).toEqual(['B/x/1'])
    const none = decide(was, plan([task('A/x/1', soon), task('B/x/1', at(22, 9))]), BECAUSE)
    expect([none.waits, none.asked]).toEqual([[], []])
  })

  it('that is over, late, under way or pinned is not asked about: facts and clocks move it', () => {
    const was = [
      known('A/x/1', at(22, 5)),
      known('B/x/1', at(22, 9), { state: 'underway' }),
      known('C/x/1', at(22, 9), { state: 'done' }),
      known('D/x/1', at(22, 9), { pinned: true }),
    ]
    const free = plan(was.map((t) => task(t.key, at(22, 12))))
    expect(decide(was, free, BECAUSE).waits).toEqual([])
  })

  it('of the wine that was measured, and of a person who is away, moves at once and is listed', () => {
    const was = [known('A/x/1', at(22, 9)), known('B/x/1', at(22, 9), { people: ['sam'] }), known('C/x/1', at(22, 9))]
    const free = plan([task('A/x/1', at(22, 11)), task('B/x/1', at(22, 9), ['kim']), task('C/x/1', at(22, 12))])
    const { waits, applied, start } = decide(was, free, { ...BECAUSE, lotId: 'A', personId: 'sam' })
    expect([waits, applied]).toEqual([['C/x/1'], ['A/x/1', 'B/x/1']])
    expect(start('A/x/1')).toBe(at(22, 11).toString())
  })

  it('moves at once where holding it would break a hard rule, with the rest of its lot; other lots still wait', () => {
    const was = [known('A/x/1', at(22, 9)), known('A/y/1', at(22, 12)), known('B/x/1', at(22, 9))]
    const free = plan([task('A/x/1', at(22, 11)), task('A/y/1', at(22, 14)), task('B/x/1', at(22, 11))])
    const { waits, applied, asked } = decide(was, free, BECAUSE, (pins) => (pins.has('A/x/1') ? [hard('A/x/1')] : []))
    expect([waits, applied]).toEqual([['B/x/1'], ['A/x/1', 'A/y/1']])
    expect(asked).toHaveLength(2)
  })

  it('moves as the plan wants it where letting go does not help', () => {
    const was = [known('A/x/1', at(22, 9))]
    const free = plan([task('A/x/1', at(22, 11))])
    const { waits, applied, plan: kept } = decide(was, free, BECAUSE, () => [hard('Z/z/1')])
    expect([waits, applied]).toEqual([[], ['A/x/1']])
    expect(kept).toBe(free)
  })

  it('does not count against it what is broken anyway', () => {
    const was = [known('A/x/1', at(22, 9))]
    const free = plan([task('A/x/1', at(22, 11))], [hard('Z/z/1')])
    expect(decide(was, free, BECAUSE, () => [hard('Z/z/1')]).waits).toEqual(['A/x/1'])
  })

  it('moves once agreed to, and is then no news', () => {
    const was = [known('A/x/1', at(22, 9)), known('B/x/1', at(22, 9))]
    const free = plan([task('A/x/1', at(22, 11)), task('B/x/1', at(22, 11))])
    const { waits, applied, start } = decide(was, free, BECAUSE, undefined, new Set(['A/x/1']))
    expect([waits, applied]).toEqual([['B/x/1'], []])
    expect(start('A/x/1')).toBe(at(22, 11).toString())
  })

  it('held for now is not shown as fixed by a person', () => {
    const was = [known('A/x/1', at(22, 9))]
    const { plan: kept } = decide(was, plan([task('A/x/1', at(22, 11))]), BECAUSE)
    expect(kept.tasks[0]).toMatchObject({ pinned: false, why: expect.stringContaining('until somebody agrees') })
  })
})

it('a move to a day beyond the exact weeks is proposed by its day alone', () => {
  const was = known('L01/filter/1', at(23, 8))
  const wants = { ...task('L01/filter/1', at(30, 8), []), grain: 'day' as const }
  expect(proposedMove({ was, wants, applied: false }, 'the filter is away')).toMatchObject({
    fromStartAt: at(23, 8).toString(),
    toGrain: 'day',
    toPeople: [],
  })
  const near = { ...wants, grain: 'minute' as const }
  expect(proposedMove({ was, wants: near, applied: true }, 'the filter is away')).not.toHaveProperty('toGrain')
})
