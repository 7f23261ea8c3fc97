import { yeastG } from './addition.ts'
import { positive, within } from './guard.ts'

/** Culture and must may differ by this much at most when they meet. Supplier sheet; one hobby page says 2 C. */
export const YEAST_STEP_C = 10

export interface Rehydration {
  readonly yeastG: number
  readonly waterL: number
  readonly waterC: number
  /** Culture temperature after each doubling with must; 10 minutes each. */
  readonly afterDoublingC: readonly number[]
  readonly totalL: number
  readonly minutes: number
  /** True when even so it takes more than the 30 minutes that rehydrated yeast may wait. */
  readonly tooSlow: boolean
  readonly steps: readonly string[]
}

/**
 * Rehydration of dry yeast: 10 x its weight of water at 35-40 C (supplier; another says 35-38), 20 min; then doubled with must
 * until the two are within 10 C. Steps of must count after the 20 minutes; live count falls after 30 in plain water.
 */
export function rehydration(massG: number, mustC: number, waterC = 37): Rehydration {
  positive('massG', massG, 'g')
  within('mustC', mustC, 4, 30, 'C')
  within('waterC', waterC, 35, 40, 'C')
  const waterL = (10 * massG) / 1000
  const afterDoublingC: number[] = []
  let cultureC = waterC
  while (cultureC - mustC > YEAST_STEP_C) {
    cultureC = (cultureC + mustC) / 2
    afterDoublingC.push(cultureC)
  }
  const minutes = 20 + 10 * afterDoublingC.length
  return {
    yeastG: massG,
    waterL,
    waterC,
    afterDoublingC,
    totalL: waterL * 2 ** afterDoublingC.length,
    minutes,
    tooSlow: afterDoublingC.length > 3,
    steps: [
      `${massG.toFixed(0)} g into ${waterL.toFixed(1)} L water at ${waterC} C, stand 20 min, stir`,
      ...afterDoublingC.map((c) => `double with must of ${mustC} C, wait 10 min: ${c.toFixed(1)} C`),
      `pour in: ${cultureC.toFixed(1)} C against ${mustC} C`,
    ],
  }
}

export interface YeastAdvice {
  readonly doseGPerHL: number
  readonly reasons: readonly string[]
}

/** 25 g/hL; up to double in clear, cold, very sweet or sulphited juice; 20 g/hL with much solids. AWRI. */
export function yeastDoseAdvice(c: {
  readonly brix: number
  readonly tempC: number
  readonly ntu?: number
  readonly freeSo2MgPerL?: number
}): YeastAdvice {
  within('brix', c.brix, 10, 45, 'Brix')
  within('tempC', c.tempC, 4, 35, 'C')
  const reasons = [
    ...(c.brix > 25 ? ['sugar above 25 Brix'] : []),
    ...(c.tempC < 13 ? ['juice below 13 C'] : []),
    ...(c.ntu !== undefined && c.ntu < 50 ? ['juice clearer than 50 NTU'] : []),
    ...(c.freeSo2MgPerL !== undefined && c.freeSo2MgPerL > 10 ? ['free SO2 above 10 mg/L'] : []),
  ]
  if (reasons.length > 0) return { doseGPerHL: Math.min(50, 25 + 12.5 * reasons.length), reasons }
  return c.ntu !== undefined && c.ntu > 250
    ? { doseGPerHL: 20, reasons: ['cloudy juice carries its own nutrients'] }
    : { doseGPerHL: 25, reasons: [] }
}

export { yeastG }
