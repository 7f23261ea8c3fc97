import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { layCellar } from '../../api/plan.ts'
import { EARLY } from '../helpers/make.ts'

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

describe('the cold room', () => {
  it('of 8 t never has 10 t in it: of two lots of 5 t on one day the second waits, or it is said', () => {
    const west = lot('L04')
    const other = { ...west, id: 'L40', code: 'L40', name: 'L40', vesselPins: {} }
    const { plan, works } = layCellar({ ...demo, lots: [west, other] }, { nowAt: EARLY })
    const cooling = works.filter((w) => w.step === 'cool-fruit').map((w) => w.task)
    expect(cooling.map((t) => t.uses.find((u) => u.pool === 'cold-room')?.amount)).toEqual([5, 5])
    const [a, b] = cooling.map((t) => plan.placed.find((p) => p.key === t.key)!)
    const apart = a!.endMin <= b!.startMin || b!.endMin <= a!.startMin
    const said = plan.broken.some((r) => r.rule === 'pool-short' && r.tasks.some((key) => key.includes('/cool-fruit/')))
    expect(apart || said).toBe(true)
  })
})
