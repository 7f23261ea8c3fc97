import { positive, within } from './guard.ts'

/** Sugar for 1 % vol more: 17 g/L, common practice (16.83 by the EU convention). */
export const SUGAR_G_PER_L_PER_PCT = 17
/** A kilogram of dissolved sucrose takes about 0.62 L. Common practice; from the density of sucrose solutions. */
const LITRES_PER_KG = 0.62

export interface Enrichment {
  readonly sugarKg: number
  readonly volumeAfterL: number
}

/** Dry sugar that raises a must's alcohol to be. Many regions forbid it or cap it: check your own rules. */
export function enrichment(risePctVol: number, volumeL: number): Enrichment {
  within('risePctVol', risePctVol, 0, 3.5, '% vol')
  positive('volumeL', volumeL, 'L')
  const sugarKg = (risePctVol * SUGAR_G_PER_L_PER_PCT * volumeL) / 1000
  return { sugarKg, volumeAfterL: volumeL + LITRES_PER_KG * sugarKg }
}
