import { type AlcoholConvention, potentialAlcoholPctVol } from './alcohol.ts'
import { within } from './guard.ts'
import { type SugarConvention, sgOfBrix, sugarOfBrix } from './sugar.ts'

/**
 * A hydrometer in a fermenting must reads too low: alcohol is lighter than water. Tabarie's sum (from memory, verify):
 * SG = SG_alcohol(A) + SG_extract - 1, SG_alcohol = 1 - 0.00152 A + 0.000017 A^2 (fit to an alcohol table from memory,
 * +/- 0.0003), SG_extract = 1 + 0.000387 (S + sugar-free extract). Accuracy about 3 g/L sugar. Dry 13 %: 0.9916.
 */
const PER_G_PER_L = 0.000387
const USUAL_EXTRACT_G_PER_L = 22

export interface FermentingMust {
  readonly startBrix: number
  readonly sugarConvention?: SugarConvention
  readonly alcoholConvention?: AlcoholConvention
}

export interface SugarLeft {
  readonly sugarGPerL: number
  readonly alcoholPctVol: number
}

/** Specific gravity that a hydrometer shows when this much sugar is left. */
export function apparentSg(must: FermentingMust, sugarGPerL: number): number {
  const startGPerL = sugarOfBrix(must.startBrix, must.sugarConvention)
  within('sugarGPerL', sugarGPerL, -15, startGPerL + 5, 'g/L')
  const alcohol = potentialAlcoholPctVol(Math.max(0, startGPerL - sugarGPerL), must.alcoholConvention)
  return 1 - 0.00152 * alcohol + 0.000017 * alcohol ** 2 + PER_G_PER_L * (sugarGPerL + extractOf(must, startGPerL))
}

/** Sugar left from a hydrometer reading, at 20 C. Slightly below zero is noise of a dry wine and is returned as read. */
export function sugarLeft(must: FermentingMust, sg: number): SugarLeft {
  within('sg', sg, 0.98, 1.2)
  const startGPerL = sugarOfBrix(must.startBrix, must.sugarConvention)
  let low = -15
  let high = startGPerL + 5
  if (sg < apparentSg(must, low) || sg > apparentSg(must, high))
    throw new RangeError(
      `sg is ${sg}, expected ${apparentSg(must, low).toFixed(4)} to ${apparentSg(must, high).toFixed(4)} for a must of ${must.startBrix} Brix`,
    )
  for (let i = 0; i < 50; i++) {
    const mid = (low + high) / 2
    if (apparentSg(must, mid) < sg) low = mid
    else high = mid
  }
  const sugarGPerL = (low + high) / 2
  const fermented = Math.max(0, startGPerL - sugarGPerL)
  return { sugarGPerL, alcoholPctVol: potentialAlcoholPctVol(fermented, must.alcoholConvention) }
}

/** The same, from a hydrometer marked in Brix. */
export const sugarLeftOfBrix = (must: FermentingMust, apparentBrix: number): SugarLeft =>
  sugarLeft(must, sgOfBrix(apparentBrix))

/** What is dissolved and is no sugar, so that the first reading of the must comes out right; 22 g/L where it cannot be. */
function extractOf(must: FermentingMust, startGPerL: number): number {
  const extract = (sgOfBrix(must.startBrix) - 1) / PER_G_PER_L - startGPerL
  return extract > 8 && extract < 50 ? extract : USUAL_EXTRACT_G_PER_L
}
