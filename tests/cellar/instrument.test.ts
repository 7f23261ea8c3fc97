import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  hydrometerAt20,
  hydrometerBrix,
  refractometerBrix,
  refractometerCorrection,
} from '../../api/cellar/instrument.ts'

describe('a hydrometer', () => {
  it('needs no correction at its own temperature', () => {
    expect(hydrometerAt20(1.09, 20)).toBeCloseTo(1.09, 12)
    expect(hydrometerAt20(1.05, 15.6, 15.6)).toBeCloseTo(1.05, 12)
  })

  it.each([
    [10, -0.36],
    [12, -0.31],
    [15, -0.21],
    [25, 0.27],
    [30, 0.6],
  ])('at SG 1.09 and %d C is off by %d Brix', (tempC, off) => {
    expect(hydrometerBrix(1.09, tempC) - hydrometerBrix(1.09, 20)).toBeCloseTo(off, 1)
  })

  it('reads too low in warm must: the correction rises with temperature', () => {
    fc.assert(
      fc.property(fc.double({ min: 5, max: 38, noNaN: true }), (t) => {
        expect(hydrometerAt20(1.08, t + 1)).toBeGreaterThan(hydrometerAt20(1.08, t))
      }),
    )
  })

  it('is refused at 60 C', () => {
    expect(() => hydrometerAt20(1.08, 60)).toThrow(/tempC is 60, expected 0 to 40 C/)
  })
})

describe('a refractometer', () => {
  it('is right at 20 C and has one value at every temperature between', () => {
    expect(refractometerCorrection(18, 20)).toBe(0)
    fc.assert(
      fc.property(
        fc.double({ min: 10, max: 29.9, noNaN: true }),
        fc.double({ min: 10, max: 25, noNaN: true }),
        (t, b) => {
          const step = refractometerCorrection(b, t + 0.1) - refractometerCorrection(b, t)
          expect(step).toBeGreaterThan(0)
          expect(step).toBeLessThan(0.02)
        },
      ),
    )
  })

  it('is refused once alcohol is there', () => {
    expect(refractometerBrix(18, 20, 3)).toEqual({ ok: false, why: 'alcohol-present' })
    expect(refractometerBrix(18, 20)).toEqual({ ok: true, value: 18 })
  })

  it('is refused outside its table', () => {
    expect(() => refractometerCorrection(18, 5)).toThrow(/tempC is 5, expected 10 to 30 C/)
    expect(() => refractometerCorrection(40, 15)).toThrow(/readingPct is 40/)
  })
})
