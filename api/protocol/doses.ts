import { figure } from './figures.ts'
import type { Basis, Dose } from './types.ts'

/** Grams of sulphite for a rise in SO2: mg/L x L / 570. 57 % SO2; 57.6 % by formula, common practice rounds down. */
const SULPHITE_DIVISOR = 570

/** mg of nitrogen in a mg of diammonium phosphate, by formula (S65 says 0.225 for a product). */
const DAP_N = 0.212

const PRACTICE: Basis = { kind: 'common-practice' }

const rounded = (amount: number): number => (amount >= 100 ? Math.round(amount) : Math.round(amount * 10) / 10)

export function sulphite(so2MgPerL: number, volumeL: number, note = ''): Dose | undefined {
  if (!(so2MgPerL > 0) || !(volumeL > 0)) return undefined
  const amount = rounded((so2MgPerL * volumeL) / SULPHITE_DIVISOR)
  return {
    product: 'potassium metabisulphite',
    amount,
    unit: 'g',
    volumeL: Math.round(volumeL),
    arithmetic: `${figure(so2MgPerL)} mg/L SO2 x ${figure(volumeL)} L / 570 = ${figure(amount)} g${note ? `; ${note}` : ''}`,
    basis: PRACTICE,
  }
}

/** A dose by grams, millilitres or litres a hectolitre. */
export function perHL(
  product: string,
  rate: number,
  unit: 'g' | 'mL',
  volumeL: number,
  basis: Basis = PRACTICE,
): Dose | undefined {
  if (!(rate > 0) || !(volumeL > 0)) return undefined
  const amount = rounded((rate * volumeL) / 100)
  return {
    product,
    amount,
    unit,
    volumeL: Math.round(volumeL),
    arithmetic: `${figure(rate)} ${unit}/hL x ${figure(volumeL)} L / 100 = ${figure(amount)} ${unit}`,
    basis,
  }
}

/** A dose by grams a litre, weighed in kilograms. */
export function perL(product: string, gPerL: number, volumeL: number, basis: Basis = PRACTICE): Dose | undefined {
  if (!(gPerL > 0) || !(volumeL > 0)) return undefined
  const amount = Math.round((gPerL * volumeL) / 10) / 100
  return {
    product,
    amount,
    unit: 'kg',
    volumeL: Math.round(volumeL),
    arithmetic: `${figure(gPerL)} g/L x ${figure(volumeL)} L / 1000 = ${figure(amount)} kg`,
    basis,
  }
}

export function ammonium(yanMgPerL: number, volumeL: number): Dose | undefined {
  if (!(yanMgPerL > 0) || !(volumeL > 0)) return undefined
  const amount = rounded(((yanMgPerL / DAP_N) * volumeL) / 1000)
  return {
    product: 'diammonium phosphate',
    amount,
    unit: 'g',
    volumeL: Math.round(volumeL),
    arithmetic: `${figure(yanMgPerL)} mg/L N / ${DAP_N} x ${figure(volumeL)} L / 1000 = ${figure(amount)} g`,
    basis: { kind: 'source', refs: ['S65'], note: '21.2 % nitrogen by formula; the source prints 22.5' },
  }
}

/** Half of what is wanting now, in steps of 5 mg/L, the rest later. Common practice. */
export function nutrientSplit(haveMgPerL: number, wantMgPerL: number): readonly [first: number, second: number] {
  const need = Math.max(0, wantMgPerL - haveMgPerL)
  if (need === 0) return [0, 0]
  const first = Math.min(need, Math.ceil(need / 2 / 5) * 5)
  return [first, need - first]
}

/** pK 1.81, the value of most published tables; it differs by 10 % from others (S46). */
export const FREE_SO2_PK = 1.81

export const freeSo2For = (molecularMgPerL: number, pH: number): number =>
  molecularMgPerL * (1 + 10 ** (pH - FREE_SO2_PK))

/**
 * The first addition: about half of it is bound, and 25 to 60 mg/L is what white wines get. Common practice.
 * The reading of the next days says what is missing.
 */
export const firstSo2MgPerL = (molecularMgPerL: number, pH: number): number => {
  if (molecularMgPerL <= 0) return 0
  return Math.min(60, Math.max(25, Math.round((freeSo2For(molecularMgPerL, pH) * 1.95) / 5) * 5))
}

/** Bentonite until the trial speaks: 70 g/hL for aromatic wine, 40 for wine that lay on its lees (30-120, common practice). */
export const BENTONITE_G_PER_HL = { aromatic: 70, onLees: 40 } as const
