import { within } from './guard.ts'
import { MOLAR } from './units.ts'

/** Ethanol at 20 C, kg/m3 (OIV-MA-AS312-01A). */
const ETHANOL_KG_PER_M3 = 789.24
/** Gay-Lussac: g ethanol per g hexose if nothing else were made. */
const FULL_YIELD = (2 * MOLAR.ethanol) / MOLAR.hexose

/**
 * How many grams of sugar a litre must hold for 1 % vol. Four conventions in use; a figure means nothing without its name.
 * 'oiv-1683': 16.83 g/L (EU and OIV convention; from memory, verify). 'manual-0059': x 0.059, 16.95 g/L (refractometer
 * manual). 'theory': 15.43 g/L, every gram to ethanol. 'yield-047': 16.79 g/L at the 0.47 g/g that yeast reaches.
 */
export const ALCOHOL_CONVENTIONS = ['oiv-1683', 'manual-0059', 'theory', 'yield-047'] as const
export type AlcoholConvention = (typeof ALCOHOL_CONVENTIONS)[number]

export const SUGAR_PER_PCT: Readonly<Record<AlcoholConvention, number>> = {
  'oiv-1683': 16.83,
  'manual-0059': 1 / 0.059,
  theory: ETHANOL_KG_PER_M3 / 100 / FULL_YIELD,
  'yield-047': ETHANOL_KG_PER_M3 / 100 / 0.47,
}

/** % vol that a must's sugar will give. Range 0-400 g/L; conventions differ by 9 %. */
export function potentialAlcoholPctVol(sugarGPerL: number, convention: AlcoholConvention = 'oiv-1683'): number {
  return within('sugarGPerL', sugarGPerL, 0, 400, 'g/L') / SUGAR_PER_PCT[convention]
}

/** Sugar that a % vol stands for. */
export function sugarForAlcohol(alcoholPctVol: number, convention: AlcoholConvention = 'oiv-1683'): number {
  return within('alcoholPctVol', alcoholPctVol, 0, 25, '% vol') * SUGAR_PER_PCT[convention]
}

/** g/L of pure ethanol in a % vol. */
export const ethanolGPerL = (alcoholPctVol: number): number =>
  (within('alcoholPctVol', alcoholPctVol, 0, 25, '% vol') * ETHANOL_KG_PER_M3) / 100

/** Where a litre's fermented sugar goes at a yield: ethanol, CO2 in step with it, and the rest (glycerol, cells, acids). */
export function sugarBalance(sugarGPerL: number, yieldGPerG = 0.47) {
  within('sugarGPerL', sugarGPerL, 0, 400, 'g/L')
  within('yieldGPerG', yieldGPerG, 0.4, FULL_YIELD, 'g/g')
  const ethanol = sugarGPerL * yieldGPerG
  const carbonDioxide = (ethanol * MOLAR.carbonDioxide) / MOLAR.ethanol
  return { ethanolGPerL: ethanol, co2GPerL: carbonDioxide, otherGPerL: sugarGPerL - ethanol - carbonDioxide }
}
