import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { planCellar } from '../../api/plan.ts'
import { barrelCount } from '../../api/protocol/rooms.ts'
import { EARLY } from '../helpers/make.ts'

describe('barrels for a ferment', () => {
  // Practice: three barrels of 225 L for 632 L, four of 300 L for 1,173 L, 5 and 11 of 228 L for 3,248 L; the rest in kegs.
  it.each([
    [632, 225, 3],
    [1173, 300, 4],
    [1015, 228, 5],
    [2233, 228, 11],
    // Two would leave a fifth of the wine over.
    [504, 225, 3],
  ])('%i L in barrels of %i L: %i', (volumeL, eachL, barrels) => {
    expect(barrelCount(volumeL, eachL)).toBe(barrels)
  })

  it('never leave over more than they take after the foam, and from ten on are well filled', () => {
    fc.assert(
      fc.property(fc.double({ min: 50, max: 20_000, noNaN: true }), fc.constantFrom(225, 228, 300, 500), (v, each) => {
        const count = barrelCount(v, each)
        expect(v - count * each * 0.92).toBeLessThanOrEqual(v * 0.08 + 1e-6)
        // Half a barrel in ten either way of 89 %.
        if (count >= 10) expect(v / (count * each)).toBeGreaterThanOrEqual(0.84)
      }),
    )
  })

  it('says how full they are, and what goes to kegs', () => {
    const demo = demoFacts()
    const fillOf = (code: string) =>
      planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === code) }, { nowAt: EARLY }).tasks.find(
        (t) => t.step === 'fill-barrels',
      )!
    for (const code of ['L03', 'L04', 'L08']) {
      const fullPct = Number(fillOf(code).detail.match(/(\d+) % full/)![1])
      expect(fullPct, code).toBeGreaterThanOrEqual(88)
      expect(fullPct, code).toBeLessThanOrEqual(92)
    }
    expect(fillOf('L08').detail).toContain('to kegs')
  })
})
