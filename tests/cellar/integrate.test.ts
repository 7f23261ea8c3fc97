import { createRequire } from 'node:module'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cellYield, ethanolRateMax, growthMax, K_N, K_S, killRate, Y_ES } from '../../api/cellar/coleman.ts'
import { fermentCurve, hourAtSugar, statesAt, sugarAt } from '../../api/cellar/ferment-curve.ts'
import { hourDownTo, integrate, trackAt } from '../../api/cellar/integrate.ts'

/** odex: Hairer's extrapolation solver from the registry; a general library that knows no wine. */
interface Solver {
  denseOutput: boolean
  absoluteTolerance: number
  relativeTolerance: number
  solve(f: (x: number, y: number[]) => number[], x0: number, y0: number[], x1: number): { y: number[] }
}
const { Solver } = createRequire(import.meta.url)('odex') as { Solver: new (size: number) => Solver }

const BARE = { startH: 0, pace: 1, tail: 1, yanCapMgPerL: Number.POSITIVE_INFINITY }

/** The five equations as the paper writes them, solved by the library. */
function bySolver(tempC: number, yanMgPerL: number, sugar: number, yeast: number, hour: number): number[] {
  const solver = new Solver(5)
  solver.denseOutput = false
  solver.absoluteTolerance = 1e-9
  solver.relativeTolerance = 1e-9
  const yieldXN = cellYield(yanMgPerL)
  return solver.solve(
    (_, [, XA = 0, N = 0, E = 0, S = 0]) => {
      const mu = (growthMax(tempC) * Math.max(0, N)) / (K_N + Math.max(0, N))
      const beta = (ethanolRateMax(tempC) * Math.max(0, S)) / (K_S + Math.max(0, S))
      return [mu * XA, mu * XA - killRate(tempC) * E * XA, (-mu * XA) / yieldXN, beta * XA, (-beta * XA) / Y_ES]
    },
    0,
    [yeast, yeast, yanMgPerL / 1000, 0, sugar],
    hour,
  ).y
}

describe('the integrator', () => {
  it.each([
    [12, 80, 265, 240],
    [15, 250, 240, 100],
    [18, 150, 220, 140],
    [22, 330, 265, 60],
    [30, 70, 240, 90],
    [35, 70, 240, 400],
  ])('at %d C, %d mg/L, %d g/L agrees with a general solver after %d h', (tempC, yan, sugar, hour) => {
    const [X = 0, XA = 0, N = 0, E = 0, S = 0] = bySolver(tempC, yan, sugar, 0.25, hour)
    const curve = fermentCurve({ ...BARE, sugarGPerL: sugar, yanMgPerL: yan, yeastGPerL: 0.25, tempPlan: tempC }, 2400)
    const states = statesAt(curve, hour)
    expect(sugarAt(curve, hour)).toBeCloseTo(S, 0)
    expect(Math.abs(sugarAt(curve, hour) - S)).toBeLessThan(0.002 * sugar)
    expect(Math.abs(states.cellsGPerL - X)).toBeLessThan(0.01 * X)
    expect(Math.abs(states.activeCellsGPerL - XA)).toBeLessThan(0.01 * X)
    expect(Math.abs(states.ethanolGPerL - E)).toBeLessThan(0.002 * sugar)
    expect(Math.abs(states.yanMgPerL - 1000 * N)).toBeLessThan(0.01 * yan)
  })

  it('moves the day of dryness by less than 0.3 % when its step is made finer', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 11, max: 28, noNaN: true }),
        fc.double({ min: 90, max: 330, noNaN: true }),
        fc.double({ min: 170, max: 260, noNaN: true }),
        (tempC, yanMgPerL, sugarGPerL) => {
          const must = { ...BARE, sugarGPerL, yanMgPerL, yeastGPerL: 0.25, tempPlan: tempC }
          const usual = hourAtSugar(fermentCurve(must, 2400), 2)
          const fine = hourAtSugar(fermentCurve(must, 2400, 3e-6), 2)
          if (fine === null || usual === null) expect(usual).toBe(fine)
          else expect(Math.abs(usual / fine - 1)).toBeLessThan(0.003)
        },
      ),
      // Two that once moved it by more: sugar comes near 2 g/L so slowly that a small slip is hours.
      {
        numRuns: 60,
        examples: [
          [11, 90, 247.5],
          [27.88, 93.82, 258.26],
        ],
      },
    )
  })

  it('follows decay exactly known, over a jump of its rate', () => {
    const track = integrate(
      (hour, [y = 0], out) => {
        out[0] = -(hour < 10 ? 0.1 : 0.3) * y
      },
      0,
      Float64Array.of(100),
      [10],
      30,
      { relTol: 1e-6, absTol: 1e-6, maxStepH: 5 },
    )
    const exact = (h: number) => 100 * Math.exp(-0.1 * Math.min(h, 10) - 0.3 * Math.max(0, h - 10))
    for (const h of [0, 3.3, 9.9, 10, 10.1, 17, 30]) expect(trackAt(track, 0, h)).toBeCloseTo(exact(h), 2)
    expect(hourDownTo(track, 0, exact(12))).toBeCloseTo(12, 2)
    expect(hourDownTo(track, 0, 0)).toBeNull()
    expect(hourDownTo(track, 0, 100)).toBe(0)
  })
})
