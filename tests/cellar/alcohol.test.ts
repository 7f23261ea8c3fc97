import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  ALCOHOL_CONVENTIONS,
  ethanolGPerL,
  potentialAlcoholPctVol,
  sugarBalance,
  sugarForAlcohol,
} from '../../api/cellar/alcohol.ts'

const anySugar = fc.double({ min: 1, max: 380, noNaN: true })

describe('potential alcohol', () => {
  it('rises with sugar and comes back to it, by every convention', () => {
    fc.assert(
      fc.property(anySugar, fc.constantFrom(...ALCOHOL_CONVENTIONS), (sugar, convention) => {
        const alcohol = potentialAlcoholPctVol(sugar, convention)
        expect(potentialAlcoholPctVol(sugar + 1, convention)).toBeGreaterThan(alcohol)
        if (alcohol <= 25) expect(sugarForAlcohol(alcohol, convention)).toBeCloseTo(sugar, 8)
      }),
    )
  })

  it('is highest by theory: no convention promises more than all sugar to ethanol', () => {
    for (const c of ALCOHOL_CONVENTIONS)
      expect(potentialAlcoholPctVol(220, c)).toBeLessThanOrEqual(potentialAlcoholPctVol(220, 'theory'))
  })

  it('refuses negative sugar and 30 % vol', () => {
    expect(() => potentialAlcoholPctVol(-1)).toThrow(/sugarGPerL is -1/)
    expect(() => sugarForAlcohol(30)).toThrow(/alcoholPctVol is 30, expected 0 to 25 % vol/)
  })
})

describe('where sugar goes', () => {
  it('sums up: ethanol, CO2 and the rest are the sugar, for any yield', () => {
    fc.assert(
      fc.property(anySugar, fc.double({ min: 0.4, max: 0.511, noNaN: true }), (sugar, yieldGPerG) => {
        const b = sugarBalance(sugar, yieldGPerG)
        expect(b.ethanolGPerL + b.co2GPerL + b.otherGPerL).toBeCloseTo(sugar, 8)
        expect(b.otherGPerL).toBeGreaterThanOrEqual(-1e-3 * sugar)
      }),
    )
  })

  it('agrees with the alcohol of its convention within 2 %', () => {
    const byBalance = sugarBalance(220, 0.47).ethanolGPerL
    expect(Math.abs(byBalance / ethanolGPerL(potentialAlcoholPctVol(220, 'oiv-1683')) - 1)).toBeLessThan(0.02)
  })
})
