import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { malolacticChange, tartaricAddition } from '../../api/cellar/acid.ts'
import { additionMassG, dapG, metabisulphiteG } from '../../api/cellar/addition.ts'
import { blendOf, foreignRoomL, sweetReserveL } from '../../api/cellar/blend.ts'
import { bentonitePlan, copperPlan, enzymeG } from '../../api/cellar/fining.ts'
import { malolacticScore, malolacticWeeks } from '../../api/cellar/malolactic.ts'
import { nutrientPlan, nutrientStillHelps, yanWanted } from '../../api/cellar/nutrient.ts'
import { acidAsSulfuric, acidAsTartaric } from '../../api/cellar/units.ts'
import { rehydration, yeastDoseAdvice } from '../../api/cellar/yeast.ts'

const litres = fc.double({ min: 1, max: 50_000, noNaN: true })

describe('an addition', () => {
  it('brings exactly what was asked, and doubles with the volume', () => {
    fc.assert(
      fc.property(litres, fc.double({ min: 0, max: 300, noNaN: true }), (volumeL, rise) => {
        const massG = additionMassG(10, 10 + rise, volumeL, 0.5)
        expect((massG * 0.5 * 1000) / volumeL).toBeCloseTo(rise, 8)
        expect(additionMassG(10, 10 + rise, 2 * volumeL, 0.5)).toBeCloseTo(2 * massG, 6)
      }),
    )
  })

  it('is never negative and refuses nonsense', () => {
    expect(additionMassG(30, 20, 1000, 0.5)).toBe(0)
    expect(() => additionMassG(0, 10, -1, 0.5)).toThrow(/volumeL is -1, expected more than 0 L/)
    expect(() => additionMassG(0, 10, 100, 2)).toThrow(/activeShare is 2, expected 0.001 to 1/)
    expect(() => metabisulphiteG(Number.NaN, 100)).toThrow(/NaN/)
    expect(() => dapG(50, Number.POSITIVE_INFINITY)).toThrow(/Infinity/)
  })
})

describe('nutrients', () => {
  it('come in two halves that bring the nitrogen missing', () => {
    fc.assert(
      fc.property(fc.nat(300), fc.nat(350), litres, (now, target, volumeL) => {
        const plan = nutrientPlan(now, target, volumeL)
        expect(plan.firstG + plan.secondG).toBeCloseTo(plan.dapG, 8)
        expect(now + plan.dapGPerL * 212.1).toBeCloseTo(Math.max(now, target), 4)
        expect(plan.allowedDapG).toBeLessThanOrEqual(plan.dapG + 1e-9)
      }),
    )
  })

  it('pass the limit of one rule book and not of another', () => {
    expect(nutrientPlan(100, 250, 1000, 'eu').overLimit).toBe(false)
    expect(nutrientPlan(100, 250, 1000, 'oiv').overLimit).toBe(true)
    expect(nutrientPlan(100, 250, 1000, 'oiv').allowedDapG).toBeCloseTo(300, 6)
  })

  it('help up to half of the sugar, and more is wanted at more Brix', () => {
    expect(nutrientStillHelps(220, 150)).toBe(true)
    expect(nutrientStillHelps(220, 100)).toBe(false)
    expect([21, 23, 25, 27].map(yanWanted)).toEqual([200, 250, 300, 350])
    expect(yanWanted(18)).toBe(150)
  })
})

describe('yeast', () => {
  it('is brought to within 10 C of the must by doublings, none skipped', () => {
    fc.assert(
      fc.property(fc.double({ min: 5, max: 30, noNaN: true }), (mustC) => {
        const plan = rehydration(500, mustC)
        const last = plan.afterDoublingC.at(-1) ?? plan.waterC
        expect(last - mustC).toBeLessThanOrEqual(10)
        expect(plan.totalL).toBeCloseTo(plan.waterL * 2 ** plan.afterDoublingC.length, 9)
      }),
    )
    expect(rehydration(500, 14).afterDoublingC.map((c) => Math.round(c * 10) / 10)).toEqual([25.5, 19.8])
  })

  it('is dosed higher for clear, cold, sweet or sulphited juice, and says why', () => {
    expect(yeastDoseAdvice({ brix: 22, tempC: 16 })).toEqual({ doseGPerHL: 25, reasons: [] })
    expect(yeastDoseAdvice({ brix: 27, tempC: 12 }).doseGPerHL).toBe(50)
    expect(yeastDoseAdvice({ brix: 22, tempC: 16, ntu: 30 }).reasons).toEqual(['juice clearer than 50 NTU'])
    expect(yeastDoseAdvice({ brix: 22, tempC: 16, ntu: 300 }).doseGPerHL).toBe(20)
  })

  it('refuses boiling water', () => {
    expect(() => rehydration(500, 15, 60)).toThrow(/waterC is 60, expected 35 to 40 C/)
  })
})

describe('malolactic', () => {
  const wine = { alcoholPctVol: 12.5, pH: 3.4, freeSo2MgPerL: 5, totalSo2MgPerL: 25, tempC: 20, malicGPerL: 3 }

  it('takes longer in colder, more acid or more sulphited wine', () => {
    const weeks = (more: object) => malolacticWeeks({ ...wine, ...more }).likely
    expect(weeks({ tempC: 12 })).toBeGreaterThan(weeks({}))
    expect(weeks({ pH: 2.95, freeSo2MgPerL: 14 })).toBeGreaterThan(weeks({}))
    expect(malolacticWeeks(wine, 'wild').likely).toBeGreaterThan(malolacticWeeks(wine).likely)
    const hardest = malolacticScore({ ...wine, pH: 2.9, freeSo2MgPerL: 20, totalSo2MgPerL: 90, tempC: 9 })
    expect(hardest.difficulty).toBe('very-hard')
    expect(hardest.parts[0]?.points).toBe(10)
  })

  it('scores no harder when any one condition is eased', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 2.8, max: 3.6, noNaN: true }),
        fc.double({ min: 0, max: 40, noNaN: true }),
        fc.double({ min: 10, max: 120, noNaN: true }),
        (pH, freeSo2MgPerL, totalSo2MgPerL) => {
          const at = (more: object) => malolacticScore({ ...wine, pH, freeSo2MgPerL, totalSo2MgPerL, ...more }).points
          expect(at({ pH: pH + 0.2 })).toBeLessThanOrEqual(at({}))
          expect(at({ freeSo2MgPerL: freeSo2MgPerL / 2 })).toBeLessThanOrEqual(at({}))
          expect(at({ totalSo2MgPerL: totalSo2MgPerL / 2 })).toBeLessThanOrEqual(at({}))
        },
      ),
    )
  })

  it('keeps mass: lactic and CO2 are the malic', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 12, noNaN: true }), (malic) => {
        const c = malolacticChange(malic)
        expect(c.lacticGPerL + c.co2GPerL).toBeCloseTo(malic, 3)
        expect(c.acidFallGPerLTartaric).toBeGreaterThanOrEqual(0)
      }),
    )
  })
})

describe('acid, fining and blends', () => {
  it('come back from sulfuric to tartaric; the cap of the code binds above 4 g/L', () => {
    expect(acidAsTartaric(acidAsSulfuric(6.5))).toBeCloseTo(6.5, 9)
    expect(tartaricAddition(1.5, 2000).massKg).toBeCloseTo(3, 9)
    expect(tartaricAddition(4, 100).overCap).toBe(false)
    expect(tartaricAddition(4.2, 100).overCap).toBe(true)
  })

  it('give bentonite no more water than either rule allows', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.05, max: 2, noNaN: true }), litres, (dose, volumeL) => {
        const plan = bentonitePlan(dose, volumeL)
        expect(plan.waterMaxL).toBeLessThanOrEqual(0.01 * volumeL + 1e-9)
        expect(plan.waterMaxL).toBeLessThanOrEqual(16.7 * plan.massKg + 1e-9)
      }),
    )
    expect(bentonitePlan(0.3, 1000).bindingRule).toBe('16.7 L/kg')
    expect(bentonitePlan(1, 1000).bindingRule).toBe('1 % of the wine')
  })

  it('count copper by its share in the sulphate and flag both limits', () => {
    const plan = copperPlan(0.2, 10_000)
    expect(plan.massG * 0.2545).toBeCloseTo(2, 6)
    expect(plan.overTrial).toBe(false)
    expect(copperPlan(0.6, 1000).overTrial).toBe(true)
    expect(copperPlan(2.6, 1000).overOiv).toBe(true)
    expect(enzymeG(5000, 2)).toBe(100)
  })

  it('reach the sweetness asked for', () => {
    fc.assert(
      fc.property(litres, fc.double({ min: 0, max: 8, noNaN: true }), (volumeL, now) => {
        const reserveL = sweetReserveL(volumeL, now, 12, 200)
        const mixed = blendOf([
          { volumeL, value: now },
          { volumeL: reserveL, value: 200 },
        ])
        expect(mixed).toBeCloseTo(12, 6)
      }),
    )
    expect(() => sweetReserveL(100, 2, 20, 15)).toThrow(/reserveSugar is 15, expected more than the target of 20/)
  })

  it('lie between their parts, in any order, and keep a label share', () => {
    const parts = [
      { volumeL: 100, value: 3 },
      { volumeL: 300, value: 9 },
    ]
    expect(blendOf(parts)).toBe(blendOf(parts.toReversed()))
    expect(blendOf(parts)).toBe(7.5)
    expect(foreignRoomL(850, 1, 0.85)).toBeCloseTo(150, 9)
    expect(foreignRoomL(850, 0.8, 0.85)).toBe(0)
  })
})
