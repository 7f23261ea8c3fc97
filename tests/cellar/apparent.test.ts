import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apparentSg, sugarLeft, sugarLeftOfBrix } from '../../api/cellar/apparent.ts'
import { brixOfSg, sgOfBrix, sugarOfBrix } from '../../api/cellar/sugar.ts'

describe('sugar left by hydrometer', () => {
  it('of an unfermented must is all of it', () => {
    fc.assert(
      fc.property(fc.double({ min: 16, max: 28, noNaN: true }), (startBrix) => {
        const left = sugarLeft({ startBrix }, sgOfBrix(startBrix))
        expect(left.sugarGPerL).toBeCloseTo(sugarOfBrix(startBrix), 4)
        expect(left.alcoholPctVol).toBeCloseTo(0, 4)
      }),
    )
  })

  it('comes back to the reading it was made from', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 16, max: 28, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (startBrix, share) => {
          const sugar = share * sugarOfBrix(startBrix)
          expect(sugarLeft({ startBrix }, apparentSg({ startBrix }, sugar)).sugarGPerL).toBeCloseTo(sugar, 4)
        },
      ),
    )
  })

  it('falls with the reading, alcohol rises', () => {
    const high = sugarLeftOfBrix({ startBrix: 22 }, 12)
    const low = sugarLeftOfBrix({ startBrix: 22 }, 4)
    expect(low.sugarGPerL).toBeLessThan(high.sugarGPerL)
    expect(low.alcoholPctVol).toBeGreaterThan(high.alcoholPctVol)
  })

  it('knows that a dry wine of 13 % vol reads about -2.2 Brix, SG 0.9916', () => {
    const startBrix = 22.36
    expect(apparentSg({ startBrix }, 0)).toBeCloseTo(0.9916, 2)
    expect(brixOfSg(apparentSg({ startBrix }, 0))).toBeLessThan(-1.5)
    expect(brixOfSg(apparentSg({ startBrix }, 0))).toBeGreaterThan(-2.6)
  })

  it('refuses a reading above the must it came from', () => {
    expect(() => sugarLeft({ startBrix: 18 }, 1.12)).toThrow(
      /sg is 1.12, expected 0\.9\d+ to 1\.0\d+ for a must of 18 Brix/,
    )
  })
})
