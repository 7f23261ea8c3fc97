import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { barrelsFor, barrelsToHold } from '../../api/cellar/barrels.ts'
import { alcoholTrend, evaporationPctPerYear, toppingIntervalDays, toppingPlan } from '../../api/cellar/topping.ts'
import {
  juiceVolume,
  LOSS_SHARE,
  type LossStep,
  vesselNeedL,
  volumeThrough,
  YIELD_L_PER_T,
} from '../../api/cellar/volume.ts'
import {
  barrelOxygenMgPerLPerYear,
  barrelSurfaceM2,
  barrelVolumeL,
  OAK_PIECES_OXYGEN_MG_PER_L_PER_YEAR,
  oakIndex,
  surfaceCm2PerL,
} from '../../api/cellar/wood.ts'

const steps = Object.keys(LOSS_SHARE) as LossStep[]

describe('litres', () => {
  it('from tonnes lie in order and split into free run and press', () => {
    for (const kind of Object.keys(YIELD_L_PER_T) as (keyof typeof YIELD_L_PER_T)[]) {
      const { volumeL, freeRunL, pressL } = juiceVolume(10, kind)
      expect(volumeL.low).toBeLessThanOrEqual(volumeL.likely)
      expect(volumeL.likely).toBeLessThanOrEqual(volumeL.high)
      expect(freeRunL + pressL).toBeCloseTo(volumeL.likely, 9)
      expect(volumeL.high).toBeLessThan(7730)
    }
  })

  it('are conserved over any steps: out and losses are what went in', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 50_000, noNaN: true }),
        fc.array(fc.constantFrom(...steps), { maxLength: 8 }),
        (volumeL, walk) => {
          const rows = volumeThrough(volumeL, walk)
          const lost = rows.reduce((a, r) => a + r.lossL, 0)
          expect((rows.at(-1)?.outL ?? volumeL) + lost).toBeCloseTo(volumeL, 6)
          for (const r of rows) expect(r.outL).toBeLessThanOrEqual(r.inL)
        },
      ),
    )
  })

  it('ask for a vessel with a tenth to spare, and never for fewer than none', () => {
    expect(vesselNeedL(900)).toBeCloseTo(1000, 9)
    expect(() => juiceVolume(-1, 'destem')).toThrow(/tonnes is -1, expected 0 to 500 t/)
  })
})

describe('barrels', () => {
  it('and the rest are the volume; the rest never fills another barrel', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 50_000, noNaN: true }),
        fc.constantFrom(225, 228, 300, 500),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (volumeL, size, share) => {
          const plan = barrelsFor(volumeL, size, share)
          expect(plan.barrels * size + plan.restL).toBeCloseTo(volumeL, 4)
          expect(plan.restL).toBeLessThan(size)
          expect(plan.kegs * 50).toBeGreaterThanOrEqual(plan.restL - 1e-6)
          expect(plan.newBarrels).toBeLessThanOrEqual(plan.barrels)
          expect(barrelsToHold(volumeL, size)).toBeGreaterThanOrEqual(plan.barrels)
        },
      ),
    )
  })

  it('of 228 L for 3248 L are 14 and a keg of 56 L in two', () => {
    expect(barrelsFor(3248, 228)).toEqual({ barrels: 14, restL: 56, kegs: 2, newBarrels: 0 })
    expect(barrelsToHold(3248, 228)).toBe(15)
  })
})

describe('wood', () => {
  it('the smaller the barrel, the more surface a litre and the more extraction, strictly', () => {
    fc.assert(
      fc.property(fc.double({ min: 20, max: 9000, noNaN: true }), fc.nat(6), (volumeL, fills) => {
        expect(surfaceCm2PerL(volumeL)).toBeGreaterThan(surfaceCm2PerL(volumeL * 1.1))
        expect(oakIndex(volumeL, fills).extraction).toBeGreaterThan(oakIndex(volumeL * 1.1, fills).extraction)
        // No closed vessel has less wall than a sphere.
        expect(barrelSurfaceM2(volumeL)).toBeGreaterThan((36 * Math.PI) ** (1 / 3) * (volumeL / 1000) ** (2 / 3))
      }),
    )
  })

  it('each further fill gives less, towards nothing, and oxygen goes on', () => {
    const at = (fills: number) => oakIndex(225, fills).extraction
    for (let fills = 0; fills < 8; fills++) expect(at(fills + 1)).toBeLessThan(at(fills))
    expect(at(12)).toBeLessThan(0.001)
    expect(barrelOxygenMgPerLPerYear(225, 12)).toBe(10)
    expect(barrelOxygenMgPerLPerYear(500, 0)).toBeLessThan(barrelOxygenMgPerLPerYear(225, 0))
  })

  it('heavier toast is toastier, a large old cask gives under a tenth, pieces let in no oxygen', () => {
    expect(oakIndex(225, 0, 'heavy').toasty).toBeGreaterThan(oakIndex(225, 0, 'light').toasty)
    expect(oakIndex(3000, 4).aroma).toBeLessThan(0.1)
    expect(OAK_PIECES_OXYGEN_MG_PER_L_PER_YEAR).toBe(0)
  })

  it('European oak gives 161 % of the solids of American', () => {
    const [eu, us] = [oakIndex(225, 0, 'medium', 'european'), oakIndex(225, 0, 'medium', 'american')]
    expect(eu.extraction / us.extraction).toBeCloseTo(1.61, 6)
  })

  it('agrees with a barrel cut into ten thousand slices', () => {
    const [L, D, d] = [0.85, 0.62, 0.52]
    const radius = (x: number) => D / 2 - ((D - d) / 2) * (2 * x) ** 2
    const n = 10_000
    const slices = Array.from({ length: n }, (_, k) => Math.PI * radius((k + 0.5) / n - 0.5) ** 2 * (L / n))
    expect(barrelVolumeL(L, D, d)).toBeCloseTo(1000 * slices.reduce((a, b) => a + b, 0), 2)
  })
})

describe('topping', () => {
  it('wants more in dry or warm air and from smaller barrels, 1 to 9 % a year in any cellar', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 55, max: 84, noNaN: true }),
        fc.double({ min: 10, max: 18, noNaN: true }),
        (humidity, tempC) => {
          const pct = evaporationPctPerYear(humidity, tempC)
          expect(pct).toBeGreaterThan(1)
          expect(pct).toBeLessThan(10.5)
          expect(evaporationPctPerYear(humidity - 1, tempC)).toBeGreaterThan(pct)
          expect(evaporationPctPerYear(humidity, tempC + 1)).toBeGreaterThan(pct)
          expect(evaporationPctPerYear(humidity, tempC, 114)).toBeGreaterThan(pct)
        },
      ),
    )
  })

  it('is weekly in the first month, then at most every three weeks', () => {
    expect(toppingIntervalDays(75, 14, 225, 1)).toBe(7)
    for (const humidity of [50, 65, 80, 95]) {
      const days = toppingIntervalDays(humidity, 14, 225, 10)
      expect(days).toBeGreaterThanOrEqual(7)
      expect(days).toBeLessThanOrEqual(21)
    }
    expect(toppingPlan(14, 228, 75, 14, 21).totalL).toBeCloseTo(14 * toppingPlan(1, 228, 75, 14, 21).perBarrelL, 9)
  })

  it('leaves alcohol rising in dry air and falling in damp', () => {
    expect([50, 67, 85].map(alcoholTrend)).toEqual(['rises', 'stays', 'falls'])
  })
})
