import { within } from './guard.ts'

/** pKT of OIV-MA-AS323-04C Table I: rows by % vol, columns 20, 25, 30, 35, 40 C. The row of 20 % vol was not readable. */
const TEMPS_C = [20, 25, 30, 35, 40] as const
const ROWS: readonly (readonly [alcoholPctVol: number, pkT: readonly number[]])[] = [
  [0, [1.798, 2.0, 2.219, 2.334, 2.493]],
  [5, [1.897, 2.098, 2.299, 2.397, 2.527]],
  [10, [1.997, 2.198, 2.394, 2.488, 2.606]],
  [15, [2.099, 2.301, 2.503, 2.607, 2.728]],
]
const USUAL_IONIC_STRENGTH = 0.038

/** The table, straight lines between its cells. Below 20 C the line of 20-25 C is carried on (extrapolated, down to 10 C). */
export function oivPkTable(alcoholPctVol: number, tempC: number): number {
  within('alcoholPctVol', alcoholPctVol, 0, 15, '% vol')
  within('tempC', tempC, 10, 40, 'C')
  const column = Math.min(TEMPS_C.length - 2, Math.max(0, Math.floor((tempC - 20) / 5)))
  const row = Math.min(ROWS.length - 2, Math.floor(alcoholPctVol / 5))
  const across = (tempC - (TEMPS_C[column] as number)) / 5
  const down = (alcoholPctVol - 5 * row) / 5
  const cell = (r: number, c: number) => (ROWS[r] as (typeof ROWS)[number])[1][c] as number
  const at = (r: number) => cell(r, column) + across * (cell(r, column + 1) - cell(r, column))
  return at(row) + down * (at(row + 1) - at(row))
}

/** True where the answer lies outside the printed table. */
export const oivExtrapolates = (tempC: number): boolean => tempC < 20

/**
 * pK in wine: pKT - A sqrt(I) / (1 + B sqrt(I)). Form as printed by the OIV; A and B as polynomials in temperature and
 * alcohol read in public code that cites the method (the T2 and a2 coefficients of A are identical there, which looks like a
 * copy slip; effect below 0.01). Accuracy about 0.02.
 */
export function oivPk(alcoholPctVol: number, tempC: number, ionicStrength = USUAL_IONIC_STRENGTH): number {
  within('ionicStrength', ionicStrength, 0.016, 0.056, 'mol/L')
  const [t, a] = [tempC, alcoholPctVol]
  const A = 0.482724 + 0.00883782 * t + 0.004437521 * a + 4.89638e-5 * t * t + 4.89638e-5 * a * a
  const B = 1.61645 + 0.000935347 * t + 0.000479931 * a + 4.92357e-6 * t * t + 3.15093e-5 * a * a
  const root = Math.sqrt(ionicStrength)
  return oivPkTable(alcoholPctVol, tempC) - (A * root) / (1 + B * root)
}
