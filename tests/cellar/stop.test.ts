import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fermentCurve, sugarAt } from '../../api/cellar/ferment-curve.ts'
import { likelyMust } from '../../api/cellar/fermentation.ts'
import { stopPlan } from '../../api/cellar/stop.ts'

const INPUT = {
  brix: 21,
  yanMgPerL: 180,
  yeast: 'selected',
  tempPlan: 15,
  stopSugarGPerL: 22,
  volumeL: 6000,
  powerKW: 8,
  coldC: 2,
} as const

describe('stopping at a sugar', () => {
  it('starts the chilling before the target is reached, and arrives at it', () => {
    const plan = stopPlan(INPUT)
    if (!plan) throw new Error('expected a plan')
    expect(plan.startAtSugarGPerL).toBeGreaterThan(INPUT.stopSugarGPerL)
    expect(plan.coldAtH).toBeCloseTo(plan.startH + plan.chillH, 9)
    const cooled = fermentCurve(
      {
        ...likelyMust(INPUT),
        tempPlan: [
          { hour: 0, tempC: 15 },
          { hour: plan.startH, tempC: 15 },
          { hour: plan.coldAtH, tempC: 2 },
        ],
      },
      plan.coldAtH + 1,
    )
    expect(sugarAt(cooled, plan.coldAtH)).toBeCloseTo(22, 0)
  })

  it('is begun earlier with less cooling; the simple rule is on the safe side', () => {
    fc.assert(
      fc.property(fc.double({ min: 3, max: 30, noNaN: true }), (powerKW) => {
        const weak = stopPlan({ ...INPUT, powerKW })
        const strong = stopPlan({ ...INPUT, powerKW: powerKW * 1.5 })
        if (!weak || !strong) throw new Error('expected plans')
        expect(weak.startH).toBeLessThan(strong.startH)
        expect(weak.safeStartGPerL).toBeGreaterThan(weak.startAtSugarGPerL - 1)
      }),
      { numRuns: 20 },
    )
  })

  it('is null where the ferment never comes down to it', () => {
    expect(
      stopPlan({ ...INPUT, brix: undefined, sugarGPerL: 280, yanMgPerL: 60, tempPlan: 35, stopSugarGPerL: 5 }),
    ).toBeNull()
  })

  it('refuses a cold above 8 C', () => {
    expect(() => stopPlan({ ...INPUT, coldC: 12 })).toThrow(/coldC is 12, expected -6 to 8 C/)
  })
})
