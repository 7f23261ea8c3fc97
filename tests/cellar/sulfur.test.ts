import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { freeSo2Needed, molecularSo2, pkOf, pkWords } from '../../api/cellar/sulfur.ts'
import { daysToFreeSo2, freeSo2Ahead, so2Unlocked } from '../../api/cellar/sulfur-decline.ts'
import { bindingByPh, so2Dose } from '../../api/cellar/sulfur-dose.ts'
import { SO2_REGIMES, totalSo2Limit } from '../../api/cellar/sulfur-limits.ts'
import { oivExtrapolates, oivPk } from '../../api/cellar/sulfur-oiv.ts'
import { runningTotal } from '../../api/cellar/sulfur-total.ts'

const anyPh = fc.double({ min: 2.7, max: 4.2, noNaN: true })

describe('molecular SO2', () => {
  it('falls with pH, and free SO2 needed rises', () => {
    fc.assert(
      fc.property(anyPh, fc.double({ min: 0.3, max: 2, noNaN: true }), (pH, m) => {
        expect(freeSo2Needed(m, pH + 0.1)).toBeGreaterThan(freeSo2Needed(m, pH))
        expect(molecularSo2(25, pH + 0.1)).toBeLessThan(molecularSo2(25, pH))
        expect(molecularSo2(freeSo2Needed(m, pH), pH)).toBeCloseTo(m, 9)
        expect(molecularSo2(25, pH)).toBeLessThan(25)
      }),
    )
  })

  it('rises with temperature and alcohol by the OIV method', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 14, noNaN: true }),
        fc.double({ min: 10, max: 39, noNaN: true }),
        (alcoholPctVol, tempC) => {
          expect(oivPk(alcoholPctVol, tempC + 0.5)).toBeGreaterThan(oivPk(alcoholPctVol, tempC))
          expect(oivPk(alcoholPctVol + 0.5, tempC)).toBeGreaterThan(oivPk(alcoholPctVol, tempC))
        },
      ),
    )
  })

  it.each([
    [1.81 as const, 20.4],
    [1.77 as const, 22.3],
    [{ alcoholPctVol: 12, tempC: 20 }, 15.7],
  ])('at pH 3.2 asks for a figure that depends on the pK and says which', (choice, free) => {
    expect(freeSo2Needed(0.8, 3.2, choice)).toBeCloseTo(free, 0)
    expect(pkWords(choice)).toContain(typeof choice === 'number' ? String(choice) : 'OIV')
  })

  it('below 20 C extrapolates the table and says so', () => {
    expect(pkOf({ alcoholPctVol: 12, tempC: 15 })).toBeCloseTo(1.735, 2)
    expect(oivExtrapolates(15)).toBe(true)
    expect(oivExtrapolates(20)).toBe(false)
  })

  it('refuses pH 14, negative SO2 and a port by the OIV table', () => {
    expect(() => freeSo2Needed(0.8, 14)).toThrow(/pH is 14, expected 2.6 to 4.5/)
    expect(() => molecularSo2(-3, 3.2)).toThrow(/freeSo2MgPerL is -3/)
    expect(() => oivPk(19, 20)).toThrow(/alcoholPctVol is 19, expected 0 to 15/)
    expect(() => molecularSo2(Number.NaN, 3.2)).toThrow(/NaN/)
  })
})

describe('a dose of metabisulphite', () => {
  const WINE = {
    volumeL: 3300,
    pH: 3.2,
    freeSo2MgPerL: 12,
    totalSo2MgPerL: 70,
    molecularMgPerL: 0.8,
    age: 'aged',
  } as const

  it('brings free SO2 to the target when the share told binds', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 10, max: 50_000, noNaN: true }),
        anyPh,
        fc.double({ min: 0, max: 40, noNaN: true }),
        fc.double({ min: 0, max: 0.8, noNaN: true }),
        (volumeL, pH, freeSo2MgPerL, bindingShare) => {
          const dose = so2Dose({ ...WINE, volumeL, pH, freeSo2MgPerL, bindingShare })
          const added = (dose.doseG * 0.5763 * 1000) / volumeL
          expect(added).toBeCloseTo(dose.addMgPerL, 6)
          const free = freeSo2MgPerL + added * (1 - bindingShare)
          expect(free).toBeCloseTo(Math.max(dose.freeTargetMgPerL, freeSo2MgPerL), 6)
        },
      ),
    )
  })

  it('is 60 g for 3300 L, free 12 to 20, factor 1.3, at 57 %, as a cellar reckons', () => {
    const dose = so2Dose({ ...WINE, molecularMgPerL: molecularSo2(20, 3.2), bindingShare: 1 - 1 / 1.3, so2Share: 0.57 })
    expect(dose.doseG).toBeCloseTo(60.2, 1)
  })

  it('is nothing when there is enough, more in young wine, and shows its arithmetic', () => {
    expect(so2Dose({ ...WINE, freeSo2MgPerL: 60 }).doseG).toBe(0)
    expect(so2Dose({ ...WINE, age: 'young' }).doseG).toBeGreaterThan(so2Dose(WINE).doseG)
    expect(so2Dose(WINE).steps.join(' ')).toMatch(/3300 L/)
    expect(so2Dose(WINE).totalAfterMgPerL).toBeCloseTo(70 + so2Dose(WINE).addMgPerL, 9)
    expect(so2Dose({ ...WINE, solutionPct: 5 }).doseMl).toBeCloseTo((so2Dose(WINE).doseG * 0.5763) / 0.05, 6)
  })

  it('binds 25 % at pH 3.1 and 50 % at pH 3.5 by the other source', () => {
    expect(bindingByPh(3.1)).toBeCloseTo(0.25, 9)
    expect(bindingByPh(3.5)).toBeCloseTo(0.5, 9)
    expect(() => bindingByPh(3.9)).toThrow(/pH is 3.9/)
  })
})

describe('limits and decline', () => {
  it('rise with sugar under no rule book, name their print, and ask to check', () => {
    for (const regime of SO2_REGIMES) {
      expect(totalSo2Limit(regime, 10).totalMgPerL).toBeGreaterThanOrEqual(totalSo2Limit(regime, 1).totalMgPerL)
      expect(totalSo2Limit(regime, 1).note).toMatch(/check your own rules/)
      expect(totalSo2Limit(regime, 1).source.length).toBeGreaterThan(5)
    }
    expect(totalSo2Limit('oiv', 1).memory).toBe(true)
  })

  it('of free SO2 goes on with time and oxygen, never below zero', () => {
    fc.assert(
      fc.property(fc.nat(60), fc.nat(400), fc.nat(40), (free, days, oxygen) => {
        const now = freeSo2Ahead(free, days, oxygen)
        const later = freeSo2Ahead(free, days + 10, oxygen)
        expect(later.likelyMgPerL).toBeLessThanOrEqual(now.likelyMgPerL)
        expect(now.lowestMgPerL).toBeLessThanOrEqual(now.likelyMgPerL)
        expect(now.lowestMgPerL).toBeGreaterThanOrEqual(0)
      }),
    )
    const days = daysToFreeSo2(30, 20, 13) as number
    expect(freeSo2Ahead(30, days, 13).likelyMgPerL).toBeCloseTo(20, 1)
    expect(daysToFreeSo2(10, 20, 13)).toBeNull()
  })

  it('add up to a running total that leaves room or none', () => {
    fc.assert(
      fc.property(
        fc.nat(150),
        fc.array(fc.record({ doseG: fc.nat(500), treatedL: fc.integer({ min: 100, max: 9000 }) }), { maxLength: 6 }),
        (measured, added) => {
          const now = runningTotal(measured, added, 'eu', 1)
          expect(now.totalMgPerL).toBeGreaterThanOrEqual(measured)
          expect(runningTotal(measured, added.toReversed(), 'eu', 1).totalMgPerL).toBeCloseTo(now.totalMgPerL, 8)
          expect(now.overLimit).toBe(now.totalMgPerL > 200)
          if (!now.overLimit) expect(now.totalMgPerL + now.roomMgPerL).toBeCloseTo(200, 8)
        },
      ),
    )
    expect(runningTotal(70, [{ doseG: 60, treatedL: 3300, so2Share: 0.57 }], 'eu', 1).totalMgPerL).toBeCloseTo(80.4, 1)
    expect(() => runningTotal(70, [{ doseG: 60, treatedL: 0 }], 'eu', 1)).toThrow(/treatedL is 0/)
  })

  it('lock SO2 while malolactic is awaited, until malic is gone', () => {
    expect(so2Unlocked(true)).toEqual({ ok: false, why: 'malolactic-awaited' })
    expect(so2Unlocked(true, 0.4)).toEqual({ ok: false, why: 'malolactic-awaited' })
    expect(so2Unlocked(true, 0.05)).toEqual({ ok: true, value: true })
    expect(so2Unlocked(false)).toEqual({ ok: true, value: true })
  })
})
