import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { layCellar, planCellar } from '../../api/plan.ts'
import { takeMore } from '../../api/protocol/answers/fruit.ts'
import type { Facts, Machine, TaskFact } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY } from '../helpers/make.ts'
import { judge, reported } from '../schedule/checker.ts'

const demo = demoFacts()
const lot = (code: string) => demo.lots.find((l) => l.code === code)!
/** A hold with the vessels it was given, and what the plan says against it. */
const holdIn = ({ plan }: ReturnType<typeof layCellar>, key: string) => ({
  units: plan.holds.find((h) => h.key === key)!.units,
  broken: plan.broken.filter((b) => b.strength === 'hard' && b.rule === 'no-unit').map((b) => b.tasks),
})

describe('where no single tank holds a lot', () => {
  it('two alike share it, each as full as it may be and no fuller', () => {
    // L12: 12 t at 720 L/t are 8,640 L, settling at 95 % at most: 9,095 L of tank. T09, T10 (10,500 L) and T11 gone,
    // the largest hold 6,500 L. Two halves of 4,320 L want 4,548 L each: T01 to T04, which are of one kind.
    const vessels = demo.vessels.filter((v) => !['T09', 'T10', 'T11'].includes(v.id))
    const laid = layCellar({ ...demo, vessels, lots: [{ ...lot('L12'), vesselPins: {} }] }, { nowAt: EARLY })
    const { units, broken } = holdIn(laid, 'L12/settle')
    expect(units).toHaveLength(2)
    expect(new Set(units).size).toBe(2)
    expect(units.every((u) => ['T01', 'T02', 'T03', 'T04'].includes(u))).toBe(true)
    expect(broken).toEqual([])
    // With the large tanks there, one is enough.
    const whole = layCellar({ ...demo, lots: [{ ...lot('L12'), vesselPins: {} }] }, { nowAt: EARLY })
    expect(holdIn(whole, 'L12/settle').units).toHaveLength(1)
  })
})

describe('barrels of a row', () => {
  it('are given to one lot at a time, each of its own, and washed between', () => {
    const laid = layCellar({ ...demo, lots: [lot('L03'), lot('L08')] }, { nowAt: EARLY })
    const barrels = new Set(demo.vessels.filter((v) => v.kind === 'barrel').map((v) => v.id))
    const stays = laid.plan.holds.flatMap((h) =>
      h.units.filter((u) => barrels.has(u)).map((u) => ({ u, lot: h.key.split('/')[0], from: h.fromMin, to: h.toMin })),
    )
    // 3,248 L in 228 L at 89 % are 16 barrels; 632 L in 225 L three (practice, section 7).
    expect(new Set(stays.filter((x) => x.lot === 'L03').map((x) => x.u)).size).toBe(16)
    expect(new Set(stays.filter((x) => x.lot === 'L08').map((x) => x.u)).size).toBe(3)
    for (const a of stays)
      for (const b of stays)
        if (a.u === b.u && a.lot !== b.lot) expect(a.to <= b.from || b.to <= a.from, a.u).toBe(true)
  })
})

const west = lot('L04')
/** Another lot like it: 5 t by hand, on the same day. */
const other = { ...west, id: 'L40', code: 'L40', name: 'L40', vesselPins: {} }
const bins: Machine = { id: 'BN', code: 'BN', kind: 'bins', name: 'Picking bins', capacity: 6, bookings: [] }

/** Of what a store holds, when its lots lie in it; the plan must stand up to the independent check. */
function stored(laid: ReturnType<typeof layCellar>, name: 'room' | 'bins') {
  expect(judge(laid.problem, laid.plan)).toEqual({ violated: reported(laid.plan), absurd: [] })
  const wanted = laid.problem.holds.filter((h) => h.key.includes(`/${name}-`))
  return wanted.map((h) => ({ ...laid.plan.holds.find((p) => p.key === h.key)!, amount: h.amount }))
}

describe('the cold room', () => {
  it('of 8 t never has 10 t in it: of two lots of 5 t on one day the second waits, or it is said', () => {
    const laid = layCellar({ ...demo, lots: [west, other] }, { nowAt: EARLY })
    const [a, b, ...more] = stored(laid, 'room')
    expect([a!.amount, b!.amount, more]).toEqual([5, 5, []])
    const apart = a!.toMin <= b!.fromMin || b!.toMin <= a!.fromMin
    const said = laid.plan.broken.some((r) => r.rule === 'pool-short' && r.ref === 'CR' && r.by === 2)
    expect(apart || said).toBe(true)
  })

  it('is the fruit’s until the last of it is in the press, not while it is cooled alone', () => {
    const laid = layCellar({ ...demo, lots: [west] }, { nowAt: EARLY })
    const [stay] = stored(laid, 'room')
    const at = (key: string) => laid.plan.placed.find((p) => p.key === key)!
    // 5 t of whole bunches go into the large press (2.4 t) and the small one (1.1 t): three loads.
    expect([stay!.fromMin, stay!.toMin]).toEqual([at('L04/cool-fruit/1').startMin, at('L04/load-press/3').endMin])
    expect(stay!.toMin).toBeGreaterThan(at('L04/cool-fruit/1').endMin)
    const plan = planCellar({ ...demo, lots: [west] }, { nowAt: EARLY })
    expect(plan.tasks.find((t) => t.key === 'L04/cool-fruit/1')!.machines).toContain('CR')
  })

  it('gives way where people fix both for one evening, and says by how much and beside whom', () => {
    const fixed = (key: string): TaskFact => ({
      id: key,
      taskKey: key,
      kind: 'pin',
      at: EARLY,
      startAt: Temporal.Instant.from('2027-03-24T03:00:00Z'),
      personId: 'sam',
    })
    const taskFacts = [fixed('L04/cool-fruit/1'), fixed('L40/cool-fruit/1')]
    const plan = planCellar({ ...demo, lots: [west, other], taskFacts }, { nowAt: EARLY })
    // 5 t and 5 t in 8 t.
    expect(plan.broken.filter((b) => b.rule === 'pool-short').map((b) => b.words)).toContain(
      'CR is short by 2 t for L04 cool the fruit overnight, beside L40 cool the fruit overnight',
    )
  })

  it('is not taken by fruit that nobody cools after all', () => {
    const skip: TaskFact = { id: 's', taskKey: 'L04/cool-fruit/1', kind: 'skip', at: EARLY, personId: 'sam' }
    const { problem } = layCellar({ ...demo, lots: [west], taskFacts: [skip] }, { nowAt: EARLY })
    expect(problem.holds.filter((h) => h.key.includes('/room-'))).toEqual([])
  })
})

describe('picking bins', () => {
  const machines = [...demo.machines, bins]
  const warm = (l: typeof west) => ({ ...l, choices: { ...l.choices, fruitCooling: 'none' as const } })

  it('for 6 t never hold 10 t: the second of two lots of 5 t comes when the first is in the press, or it is said', () => {
    const laid = layCellar({ ...demo, machines, lots: [warm(west), warm(other)] }, { nowAt: EARLY })
    const [a, b, ...more] = stored(laid, 'bins')
    expect([a!.amount, b!.amount, more]).toEqual([5, 5, []])
    const apart = a!.toMin <= b!.fromMin || b!.toMin <= a!.fromMin
    const said = laid.plan.broken.some((r) => r.rule === 'pool-short' && r.ref === 'BN' && r.by === 4)
    expect(apart || said).toBe(true)
  })

  it('are full while their fruit is in the cold room, too', () => {
    const laid = layCellar({ ...demo, machines, lots: [west] }, { nowAt: EARLY })
    const [inBins] = stored(laid, 'bins')
    const [inRoom] = stored(laid, 'room')
    expect(inBins!.fromMin).toBeLessThan(inRoom!.fromMin)
    expect(inBins!.toMin).toBe(inRoom!.toMin)
  })

  it('are not asked of machine fruit, nor in a cellar that counts none', () => {
    // L01 is picked by machine, L04 by hand.
    const asked = (given: Facts) =>
      layCellar(given, { nowAt: EARLY })
        .problem.holds.filter((h) => h.key.includes('/bins-'))
        .map((h) => h.group)
    expect(asked({ ...demo, machines, lots: [lot('L01'), west] })).toEqual(['L04'])
    expect(asked({ ...demo, lots: [west] })).toEqual([])
  })

  it('count in the answer to more fruit: 5 t more like L04 on its day do not fit into the cold room of 8 t', async () => {
    const planOf = async (facts: Facts) => ({ ...planCellar(facts, { nowAt: EARLY }), dryAt: new Map() })
    const facts = { ...demo, lots: [west] }
    const ground = { facts, plan: await planOf(facts), nowAt: EARLY, planOf }
    const answer = await takeMore(ground, { like: west, on: west.pickOn, tonnes: 5 })
    const after = await planOf({ ...facts, lots: [west, { ...other, code: 'L02', id: 'tried' }] })
    const short = after.broken.filter((b) => b.rule === 'pool-short' && b.words.startsWith('CR'))
    // Either the plan says so, and then the answer does; or one of the two waits, and then no more than 8 t lie there.
    if (short.length > 0) expect(answer.sentences.join(' ')).toMatch(/CR is short by 2 t for/)
    expect(answer.sentences.join(' ')).toMatch(/The cold room holds 8 t: at most (5|10) t lie in it at once/)
  })
})
