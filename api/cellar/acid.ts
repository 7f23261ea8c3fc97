import { positive, within } from './guard.ts'
import { acidMeqPerL, MOLAR } from './units.ts'

export interface MalolacticChange {
  readonly lacticGPerL: number
  readonly co2GPerL: number
  /** Fall of titratable acidity, as tartaric. Tartrate that falls out comes on top. */
  readonly acidFallGPerLTartaric: number
  readonly pHRise: { readonly low: number; readonly high: number }
}

/** Malic -> lactic + CO2: one carboxyl gone. Stoichiometry; pH up 0.1-0.3 (secondary source), scaled to 3 g/L malic. */
export function malolacticChange(malicGPerL: number): MalolacticChange {
  within('malicGPerL', malicGPerL, 0, 20, 'g/L')
  const molPerL = malicGPerL / MOLAR.malic
  return {
    lacticGPerL: molPerL * MOLAR.lactic,
    co2GPerL: molPerL * MOLAR.carbonDioxide,
    acidFallGPerLTartaric: (molPerL * MOLAR.tartaric) / 2,
    pHRise: { low: Math.min(0.3, (0.1 * malicGPerL) / 3), high: Math.min(0.4, (0.3 * malicGPerL) / 3) },
  }
}

/** OIV code annex: acidification at most 54 meq/L, 4 g/L as tartaric. */
export const ACIDIFICATION_CAP_MEQ_PER_L = 54

export interface TartaricAddition {
  readonly massKg: number
  readonly meqPerL: number
  /** Common practice: 1 g/L lowers pH by about 0.1. */
  readonly pHFallAbout: number
  readonly overCap: boolean
}

export function tartaricAddition(riseGPerL: number, volumeL: number): TartaricAddition {
  within('riseGPerL', riseGPerL, 0, 10, 'g/L')
  positive('volumeL', volumeL, 'L')
  const meqPerL = acidMeqPerL(riseGPerL)
  return {
    massKg: (riseGPerL * volumeL) / 1000,
    meqPerL,
    pHFallAbout: 0.1 * riseGPerL,
    overCap: meqPerL > ACIDIFICATION_CAP_MEQ_PER_L,
  }
}
