import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  BAUME_MODULI,
  baumeOfBrix,
  brixOfBaume,
  brixOfDensity,
  brixOfOechsle,
  brixOfSg,
  brixOfSugar,
  densityOfBrix,
  kmwOfOechsle,
  oechsleOfBrix,
  oechsleOfKmw,
  SUGAR_CONVENTIONS,
  sgOfBrix,
  solidsGPerL,
  sugarOfBrix,
} from '../../api/cellar/sugar.ts'

const anyBrix = fc.double({ min: 5, max: 44, noNaN: true })

describe('sugar units', () => {
  it('come back to the same Brix through each of them', () => {
    fc.assert(
      fc.property(anyBrix, (b) => {
        expect(brixOfDensity(densityOfBrix(b))).toBeCloseTo(b, 8)
        expect(brixOfSg(sgOfBrix(b))).toBeCloseTo(b, 8)
        expect(brixOfOechsle(oechsleOfBrix(b))).toBeCloseTo(b, 8)
        for (const m of BAUME_MODULI) expect(brixOfBaume(baumeOfBrix(b, m), m)).toBeCloseTo(b, 8)
        for (const c of SUGAR_CONVENTIONS) expect(brixOfSugar(sugarOfBrix(b, c), c)).toBeCloseTo(b, 6)
        if (oechsleOfBrix(b) < 156)
          expect(oechsleOfKmw(kmwOfOechsle(oechsleOfBrix(b)))).toBeCloseTo(oechsleOfBrix(b), 8)
      }),
    )
  })

  it('all rise with Brix', () => {
    fc.assert(
      fc.property(anyBrix, fc.double({ min: 0.01, max: 1, noNaN: true }), (b, more) => {
        const [low, high] = [b, Math.min(45, b + more)]
        for (const unit of [densityOfBrix, sgOfBrix, oechsleOfBrix, baumeOfBrix, solidsGPerL, sugarOfBrix])
          expect(unit(high)).toBeGreaterThan(unit(low))
      }),
    )
  })

  it('never count more sugar than all that is dissolved', () => {
    fc.assert(
      fc.property(anyBrix, (b) => {
        for (const c of SUGAR_CONVENTIONS) expect(sugarOfBrix(b, c)).toBeLessThan(solidsGPerL(b) + 1)
      }),
    )
  })

  it('know water: 998.204 kg/m3, SG 1, 0 Oe', () => {
    expect(densityOfBrix(0)).toBeCloseTo(998.204, 9)
    expect(sgOfBrix(0)).toBe(1)
    expect(oechsleOfBrix(0)).toBe(0)
  })

  it('differ by the Baume modulus, and say which', () => {
    expect(baumeOfBrix(22, 144.3)).toBeLessThan(baumeOfBrix(22, 145))
    expect(baumeOfBrix(22, 145)).toBeLessThan(baumeOfBrix(22, 146.78))
  })

  it.each([
    ['NaN', () => densityOfBrix(Number.NaN), /brix is NaN, expected -5 to 45 Brix/],
    ['60 Brix', () => densityOfBrix(60), /brix is 60/],
    ['a density as SG', () => brixOfSg(1090), /sg is 1090, expected 0.98 to 1.21/],
    ['an SG as density', () => brixOfDensity(1.09), /densityKgPerM3 is 1.09/],
    ['sugar of a dry wine by the must formula', () => sugarOfBrix(-1), /brix is -1, expected 5 to 45/],
    ['40 KMW', () => oechsleOfKmw(40), /kmw is 40/],
  ])('refuse %s', (_, call, message) => {
    expect(call).toThrow(message)
    expect(call).toThrow(RangeError)
  })
})
