import { within } from './guard.ts'

/**
 * Sugar units. The middle of all conversions is Brix: grams of sucrose in 100 g of solution.
 * Brix -> density: ICUMSA / Emmerich polynomial at 20 C (kg/m3), 0-70 % mass; used here over -5 to 45.
 * SG here is 20/20: density over that of water at 20 C (998.204 by the same polynomial).
 */
const WATER_KG_PER_M3 = 998.204
const DENSITY = [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.289] as const

/** Density at 20 C. Below 0 Brix (dry wine in a hydrometer) the same polynomial is carried on. */
export function densityOfBrix(brix: number): number {
  within('brix', brix, -5, 45, 'Brix')
  const w = brix / 100
  let power = 1
  let sum = WATER_KG_PER_M3
  for (const c of DENSITY) {
    power *= w
    sum += c * power
  }
  return sum
}

/** Brix at 20 C from density, by bisection of the same polynomial: there and back agree to 1e-9. */
export function brixOfDensity(densityKgPerM3: number): number {
  within('densityKgPerM3', densityKgPerM3, densityOfBrix(-5), densityOfBrix(45), 'kg/m3')
  let low = -5
  let high = 45
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2
    if (densityOfBrix(mid) < densityKgPerM3) low = mid
    else high = mid
  }
  return (low + high) / 2
}

export const sgOfBrix = (brix: number): number => densityOfBrix(brix) / WATER_KG_PER_M3
export const brixOfSg = (sg: number): number => brixOfDensity(within('sg', sg, 0.98, 1.21) * WATER_KG_PER_M3)

/** Oe = 1000 (SG - 1). Definition of the instrument. */
export const oechsleOfBrix = (brix: number): number => 1000 * (sgOfBrix(brix) - 1)
export const brixOfOechsle = (oechsle: number): number => brixOfSg(1 + oechsle / 1000)

/** Moduli in use; a reading means nothing without its modulus. 145 is the one of most tables. */
export const BAUME_MODULI = [144.3, 145, 146.78] as const
export type BaumeModulus = (typeof BAUME_MODULI)[number]

/** Be = m - m/SG. */
export function baumeOfBrix(brix: number, modulus: BaumeModulus = 145): number {
  return modulus - modulus / sgOfBrix(brix)
}
export function brixOfBaume(baume: number, modulus: BaumeModulus = 145): number {
  within('baume', baume, -3, 25, 'Be')
  return brixOfSg(modulus / (modulus - baume))
}

/** Oe = KMW (0.022 KMW + 4.54); 0-30 KMW. */
export const oechsleOfKmw = (kmw: number): number => within('kmw', kmw, 0, 30, 'KMW') * (0.022 * kmw + 4.54)
export function kmwOfOechsle(oechsle: number): number {
  within('oechsle', oechsle, 0, 156, 'Oe')
  return (-4.54 + Math.sqrt(4.54 ** 2 + 4 * 0.022 * oechsle)) / (2 * 0.022)
}

/** Everything dissolved, as if it were sucrose: Brix x density / 100. */
export const solidsGPerL = (brix: number): number => (brix * densityOfBrix(brix)) / 100

/** How much of what is dissolved is fermentable sugar: two conventions, 0.5 % vol apart at 22 Brix. */
export const SUGAR_CONVENTIONS = ['oechsle', 'solids-093'] as const
export type SugarConvention = (typeof SUGAR_CONVENTIONS)[number]

/**
 * Fermentable sugar of a must.
 * 'oechsle': 2.66 Oe - 30 (refractometer manual, conversion C1); meaningful from 5 Brix, below it gives nonsense.
 * 'solids-093': 0.93 x solids (Ribereau-Gayon 0.90-0.95, read in a parameter file).
 */
export function sugarOfBrix(brix: number, convention: SugarConvention = 'oechsle'): number {
  within('brix', brix, 5, 45, 'Brix')
  return convention === 'oechsle' ? 2.66 * oechsleOfBrix(brix) - 30 : 0.93 * solidsGPerL(brix)
}

/** Brix of a must from its fermentable sugar, by the same convention. */
export function brixOfSugar(sugarGPerL: number, convention: SugarConvention = 'oechsle'): number {
  within('sugarGPerL', sugarGPerL, sugarOfBrix(5, convention), sugarOfBrix(45, convention), 'g/L')
  if (convention === 'oechsle') return brixOfOechsle((sugarGPerL + 30) / 2.66)
  let low = 5
  let high = 45
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2
    if (sugarOfBrix(mid, convention) < sugarGPerL) low = mid
    else high = mid
  }
  return (low + high) / 2
}
