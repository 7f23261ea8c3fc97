import { positive, within } from './guard.ts'

export interface BentonitePlan {
  readonly massKg: number
  /** The smaller of 16.7 L/kg and 1 % of the wine. */
  readonly waterMaxL: number
  readonly bindingRule: '16.7 L/kg' | '1 % of the wine'
  readonly swellH: { readonly min: number; readonly max: number }
  readonly leesL: { readonly low: number; readonly high: number }
}

/**
 * Bentonite: 60 C water, at least 4 h swelling and not past overnight, at most 16.7 L/kg (Purdue FS-53-W) and all water at most
 * 1 % of the wine (27 CFR 24.246). Dose by trial, 0.25-1.5 g/L. Lees hold 5-10 % of the wine (Waters et al.).
 */
export function bentonitePlan(doseGPerL: number, volumeL: number): BentonitePlan {
  within('doseGPerL', doseGPerL, 0.01, 3, 'g/L')
  positive('volumeL', volumeL, 'L')
  const massKg = (doseGPerL * volumeL) / 1000
  const byMass = 16.7 * massKg
  const byWine = 0.01 * volumeL
  return {
    massKg,
    waterMaxL: Math.min(byMass, byWine),
    bindingRule: byMass <= byWine ? '16.7 L/kg' : '1 % of the wine',
    swellH: { min: 4, max: 16 },
    leesL: { low: 0.02 * volumeL, high: 0.1 * volumeL },
  }
}

/** Pectic enzyme, 1-4 g/hL: common practice; liquids as their label says. Below 12 C it needs twice the time. */
export const enzymeG = (volumeL: number, doseGPerHL = 2): number =>
  (positive('volumeL', volumeL, 'L') / 100) * within('doseGPerHL', doseGPerHL, 0.5, 10, 'g/hL')

/** Copper in CuSO4.5H2O: 63.546 / 249.68. */
export const COPPER_SHARE = 0.2545

export interface CopperPlan {
  readonly massG: number
  readonly sulphateGPerHL: number
  /** Above 0.5 mg/L added, the top of a bench trial (Iowa State Extension). */
  readonly overTrial: boolean
  /** Above 1 g/hL copper sulphate, OIV code. */
  readonly overOiv: boolean
  readonly bottleNotBeforeDays: number
}

/** Copper sulphate against hydrogen sulphide, after a bench trial of 0.05-0.5 mg/L Cu; no bottling for 7 days. */
export function copperPlan(copperMgPerL: number, volumeL: number): CopperPlan {
  within('copperMgPerL', copperMgPerL, 0.01, 3, 'mg/L')
  positive('volumeL', volumeL, 'L')
  const massG = (copperMgPerL * volumeL) / 1000 / COPPER_SHARE
  const sulphateGPerHL = (100 * massG) / volumeL
  return { massG, sulphateGPerHL, overTrial: copperMgPerL > 0.5, overOiv: sulphateGPerHL > 1, bottleNotBeforeDays: 7 }
}
