import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { NITROGEN_CAP_MG_PER_L, Y_ES } from '../../api/cellar/coleman.ts'
import { fermentCurve, hourAtSugar, type Must, statesAt, sugarAt } from '../../api/cellar/ferment-curve.ts'

const BASE: Must = {
  sugarGPerL: 220,
  yanMgPerL: 200,
  yeastGPerL: 0.25,
  tempPlan: 15,
  startH: 0,
  pace: 1,
  tail: 1,
}
const dryH = (must: Must) => hourAtSugar(fermentCurve(must, 4800, 1e-5), 2) ?? Number.POSITIVE_INFINITY
const anyMust = fc.record({
  sugarGPerL: fc.double({ min: 170, max: 260, noNaN: true }),
  yanMgPerL: fc.double({ min: 90, max: 270, noNaN: true }),
  yeastGPerL: fc.double({ min: 0.02, max: 0.4, noNaN: true }),
  tempC: fc.double({ min: 11, max: 24, noNaN: true }),
})

describe('a ferment', () => {
  it('never gains sugar, from the must to the end', () => {
    fc.assert(
      fc.property(anyMust, ({ tempC, ...m }) => {
        const curve = fermentCurve({ ...BASE, ...m, tempPlan: tempC }, 2400)
        const values = Array.from({ length: 400 }, (_, k) => sugarAt(curve, 6 * k))
        expect(values[0]).toBeCloseTo(m.sugarGPerL, 6)
        for (let k = 1; k < values.length; k++)
          expect(values[k] as number).toBeLessThanOrEqual((values[k - 1] as number) + 0.02)
      }),
      { numRuns: 60 },
    )
  })

  it('with more sugar is later dry', () => {
    fc.assert(
      fc.property(anyMust, ({ tempC, ...m }) => {
        const must = { ...BASE, ...m, tempPlan: tempC }
        expect(dryH({ ...must, sugarGPerL: m.sugarGPerL + 10 })).toBeGreaterThan(dryH(must))
      }),
      { numRuns: 40 },
    )
  })

  it('warmer, better fed or with more yeast is sooner dry', () => {
    fc.assert(
      fc.property(anyMust, ({ tempC, ...m }) => {
        const must = { ...BASE, ...m, tempPlan: tempC }
        expect(dryH({ ...must, tempPlan: tempC + 2 })).toBeLessThan(dryH(must))
        expect(dryH({ ...must, yeastGPerL: m.yeastGPerL * 1.3 })).toBeLessThan(dryH(must))
        if (m.yanMgPerL < 240) expect(dryH({ ...must, yanMgPerL: m.yanMgPerL + 20 })).toBeLessThan(dryH(must))
      }),
      { numRuns: 40 },
    )
  })

  it('keeps its mass balance: cells and nitrogen, sugar and ethanol within 2 %', () => {
    fc.assert(
      fc.property(anyMust, fc.double({ min: 0, max: 600, noNaN: true }), ({ tempC, ...m }, hour) => {
        const curve = fermentCurve({ ...BASE, ...m, tempPlan: tempC }, 2400)
        const s = statesAt(curve, hour)
        const eaten = m.sugarGPerL - sugarAt(curve, hour)
        expect(Math.abs(s.ethanolGPerL - Y_ES * eaten)).toBeLessThan(0.02 * Math.max(1, s.ethanolGPerL))
        expect(s.activeCellsGPerL).toBeLessThanOrEqual(s.cellsGPerL * 1.001)
        expect(s.yanMgPerL).toBeGreaterThanOrEqual(0)
        expect(s.yanMgPerL).toBeLessThanOrEqual(m.yanMgPerL + 1e-6)
      }),
      { numRuns: 60 },
    )
  })

  it('divides every time by its pace, and leaves the same rest', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.3, max: 2, noNaN: true }), (pace) => {
        expect(dryH({ ...BASE, pace }) * pace).toBeCloseTo(dryH(BASE), 0)
      }),
      { numRuns: 30 },
    )
    const stuck = { ...BASE, sugarGPerL: 265, yanMgPerL: 80, tempPlan: 35 }
    expect(sugarAt(fermentCurve({ ...stuck, pace: 0.5 }, 6000), 6000)).toBeCloseTo(
      sugarAt(fermentCurve(stuck, 3000), 3000),
      0,
    )
  })

  it('with a longer tail ends later but falls no slower at first', () => {
    expect(dryH({ ...BASE, tail: 3 })).toBeGreaterThan(dryH(BASE))
    const [plain, long] = [fermentCurve(BASE, 2400), fermentCurve({ ...BASE, tail: 3 }, 2400)]
    expect(Math.abs(sugarAt(long, 48) - sugarAt(plain, 48))).toBeLessThan(8)
  })

  it('counts nitrogen above the peak of the model as the peak', () => {
    expect(dryH({ ...BASE, yanMgPerL: 400 })).toBeCloseTo(dryH({ ...BASE, yanMgPerL: NITROGEN_CAP_MG_PER_L }), 6)
  })

  it('goes sluggish, normal, stuck from 11 to 35 C, as the abstract of the paper says', () => {
    const at = (tempPlan: number) => ({ ...BASE, sugarGPerL: 265, yanMgPerL: 80, tempPlan })
    expect(dryH(at(11)) / 24).toBeGreaterThan(17)
    expect(dryH(at(20)) / 24).toBeLessThan(12)
    expect(dryH(at(35))).toBe(Number.POSITIVE_INFINITY)
  })

  it('is continuous in temperature: a plan of equal points is the constant', () => {
    const flat = [0, 50, 50, 200].map((hour) => ({ hour, tempC: 15 }))
    expect(dryH({ ...BASE, tempPlan: flat })).toBeCloseTo(dryH(BASE), 1)
    const ramp = (by: number) => [
      { hour: 0, tempC: 15 },
      { hour: 300, tempC: 15 + by },
    ]
    expect(Math.abs(dryH({ ...BASE, tempPlan: ramp(0.01) }) - dryH(BASE))).toBeLessThan(0.5)
  })

  it('warmed half way is dry between the two constant temperatures', () => {
    const warmed = [
      { hour: 0, tempC: 13 },
      { hour: 100, tempC: 13 },
      { hour: 100, tempC: 18 },
    ]
    expect(dryH({ ...BASE, tempPlan: warmed })).toBeLessThan(dryH({ ...BASE, tempPlan: 13 }))
    expect(dryH({ ...BASE, tempPlan: warmed })).toBeGreaterThan(dryH({ ...BASE, tempPlan: 18 }))
  })

  it.each([
    ['-1 g/L sugar', { sugarGPerL: -1 }, /sugarGPerL is -1/],
    ['NaN nitrogen', { yanMgPerL: Number.NaN }, /yanMgPerL is NaN/],
    ['no yeast', { yeastGPerL: 0 }, /yeastGPerL is 0/],
    ['pace 0', { pace: 0 }, /pace is 0/],
    ['a wine of 60 C', { tempPlan: 60 }, /tempC is 60, expected 0 to 45 C/],
  ])('refuses %s', (_, wrong, message) => {
    expect(() => fermentCurve({ ...BASE, ...wrong }, 100)).toThrow(message)
  })
})
