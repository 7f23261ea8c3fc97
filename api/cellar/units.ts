import { within } from './guard.ts'

/** Exact by definition: NIST Special Publication 811, appendix B. */
export const L_PER_US_GALLON = 3.785411784
export const G_PER_POUND = 453.59237
/** An avoirdupois ounce is a sixteenth of a pound, a US fluid ounce a 128th of a gallon. */
export const G_PER_OUNCE = G_PER_POUND / 16
export const ML_PER_US_FLUID_OUNCE = (L_PER_US_GALLON * 1000) / 128
export const KG_PER_SHORT_TON = 907.18474

export const gallonsOfL = (volumeL: number): number => volumeL / L_PER_US_GALLON
export const litresOfGallons = (gallons: number): number => gallons * L_PER_US_GALLON
export const fahrenheitOfC = (tempC: number): number => tempC * 1.8 + 32
export const celsiusOfF = (tempF: number): number => (tempF - 32) / 1.8
export const poundsOfG = (massG: number): number => massG / G_PER_POUND
/** lb per 1000 US gallons, the dose unit of 27 CFR 24.246, to g/L. */
export const gPerLOfPoundsPer1000Gallons = (pounds: number): number => (pounds * G_PER_POUND) / (1000 * L_PER_US_GALLON)
/** US gallons of juice per short ton to litres per tonne. */
export const litresPerTonne = (gallonsPerShortTon: number): number =>
  (gallonsPerShortTon * L_PER_US_GALLON) / (KG_PER_SHORT_TON / 1000)

/** Molar masses, g/mol, from IUPAC standard atomic weights (2021, abridged). */
export const MOLAR = {
  hexose: 180.156,
  ethanol: 46.069,
  carbonDioxide: 44.009,
  sulfurDioxide: 64.058,
  malic: 134.087,
  lactic: 90.078,
  tartaric: 150.086,
  sulfuric: 98.072,
} as const

/**
 * Titratable acidity, as tartaric to as sulfuric: the ratio of equivalents, 49.04 / 75.04 = 0.6535.
 * The screen must always say which; France writes sulfuric.
 */
export const acidAsSulfuric = (acidGPerLTartaric: number): number => acidGPerLTartaric * SULFURIC_PER_TARTARIC
export const acidAsTartaric = (acidGPerLSulfuric: number): number => acidGPerLSulfuric / SULFURIC_PER_TARTARIC
/** Milliequivalents a litre: 13.33 for each g/L tartaric. */
export const acidMeqPerL = (acidGPerLTartaric: number): number =>
  (within('acidGPerLTartaric', acidGPerLTartaric, 0, 50, 'g/L') * 2000) / MOLAR.tartaric
const SULFURIC_PER_TARTARIC = MOLAR.sulfuric / MOLAR.tartaric
