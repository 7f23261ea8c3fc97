import { notNegative, positive, within } from './guard.ts'

/**
 * Mass of a product that raises a concentration from one level to another.
 * `activeShare` is the share of the product that counts: 0.576 SO2 in potassium metabisulphite by formula, 0.2121 nitrogen in
 * diammonium phosphate. Conservation of mass; exact.
 */
export function additionMassG(fromMgPerL: number, toMgPerL: number, volumeL: number, activeShare: number): number {
  notNegative('fromMgPerL', fromMgPerL, 'mg/L')
  notNegative('toMgPerL', toMgPerL, 'mg/L')
  positive('volumeL', volumeL, 'L')
  within('activeShare', activeShare, 0.001, 1)
  return (Math.max(0, toMgPerL - fromMgPerL) * volumeL) / activeShare / 1000
}

/** SO2 in potassium metabisulphite: 2 x 64.066 / 222.33 by formula. */
export const KMBS_SO2_SHARE = 0.5763
/** Nitrogen in diammonium phosphate: 28.014 / 132.056. */
export const DAP_NITROGEN_SHARE = 0.2121

/** Grams of potassium metabisulphite for a rise in SO2; old stock is weaker. */
export const metabisulphiteG = (so2MgPerL: number, volumeL: number, so2Share = KMBS_SO2_SHARE): number =>
  additionMassG(0, so2MgPerL, volumeL, so2Share)

/** Grams of diammonium phosphate for a rise in nitrogen. */
export const dapG = (yanMgPerL: number, volumeL: number): number =>
  additionMassG(0, yanMgPerL, volumeL, DAP_NITROGEN_SHARE)

/** Grams of dry yeast, default 25 g/hL (20-30 common practice, double when cold or very sweet). */
export const yeastG = (volumeL: number, yeastGPerHL = 25): number =>
  (positive('volumeL', volumeL, 'L') / 100) * within('yeastGPerHL', yeastGPerHL, 5, 100, 'g/hL')
