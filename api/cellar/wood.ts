import { notNegative, positive, within } from './guard.ts'

/** Barrel of parabolic staves: pi L / 15 (2 D^2 + D d + 0.75 d^2), internal length, bilge and head diameter. Exact for the shape. */
export function barrelVolumeL(lengthM: number, bilgeM: number, headM: number): number {
  positive('lengthM', lengthM, 'm')
  positive('bilgeM', bilgeM, 'm')
  within('headM', headM, 0.01, bilgeM, 'm')
  return ((Math.PI * lengthM) / 15) * (2 * bilgeM ** 2 + bilgeM * headM + 0.75 * headM ** 2) * 1000
}

/** Inner surface, m2: 5.336 V^(2/3) (V in m3), from a 225 L shape (0.85 x 0.62/0.52 m), similar shapes; +/- 3 %. */
export const barrelSurfaceM2 = (volumeL: number): number =>
  5.336 * (within('volumeL', volumeL, 5, 20_000, 'L') / 1000) ** (2 / 3)

export const surfaceCm2PerL = (volumeL: number): number => (barrelSurfaceM2(volumeL) * 10_000) / volumeL

/** Surface per litre against a 225 L barrel: (225/V)^(1/3). */
export const relativeSurface = (volumeL: number): number =>
  (225 / within('volumeL', volumeL, 5, 20_000, 'L')) ** (1 / 3)

export const TOASTS = ['light', 'medium', 'medium-plus', 'heavy'] as const
export type Toast = (typeof TOASTS)[number]
export const ORIGINS = ['european', 'american'] as const
export type Origin = (typeof ORIGINS)[number]

/** Smoky and toasty notes against medium toast; sweet coconut and vanilla against European oak. Common practice, direction only. */
const TOASTY: Readonly<Record<Toast, number>> = { light: 0.6, medium: 1, 'medium-plus': 1.3, heavy: 1.7 }
const AROMA: Readonly<Record<Origin, number>> = { european: 1, american: 1.3 }
/** Extractable solids: European oak gives 161 % of American (Singleton 1974). */
const SOLIDS: Readonly<Record<Origin, number>> = { european: 1, american: 1 / 1.61 }
/** What is left after each fill: a half, an assumption, not a measurement; neutral after 3-5 vintages. */
const KEPT_PER_FILL = 0.5

export interface OakIndex {
  /** All relative to the first fill of a 225 L European medium-toast barrel = 1. */
  readonly extraction: number
  readonly aroma: number
  readonly toasty: number
  readonly words: string
}

/** Relative index, not a concentration: size, fills before this one, toast, origin. */
export function oakIndex(
  volumeL: number,
  fills: number,
  toast: Toast = 'medium',
  origin: Origin = 'european',
): OakIndex {
  within('fills', fills, 0, 50)
  const wood = relativeSurface(volumeL) * KEPT_PER_FILL ** fills
  return {
    extraction: wood * SOLIDS[origin],
    aroma: wood * AROMA[origin],
    toasty: wood * TOASTY[toast],
    words: 'relative to the first fill of a 225 L European medium-toast barrel',
  }
}

/**
 * Oxygen through wood and bung, mg/L a year, at 225 L: new 20, second and third fill 13, older 10; x (225/V)^(1/3), same stave
 * thickness. Measured values disagree: 11.4 new (Junqua 2021), 20-27 (IVES), 28 new and 10 used (Vivas & Glories 1997).
 */
export function barrelOxygenMgPerLPerYear(volumeL: number, fills: number): number {
  notNegative('fills', fills)
  const at225 = fills < 1 ? 20 : fills < 3 ? 13 : 10
  return scaledOxygen(at225, volumeL)
}

export const scaledOxygen = (at225MgPerLPerYear: number, volumeL: number): number =>
  at225MgPerLPerYear * relativeSurface(volumeL)

export const MEASURED_BARREL_OXYGEN = [
  { what: 'new barrel', mgPerLPerYear: 11.4, source: 'Junqua et al. 2021, OENO One 55(3), abstract' },
  { what: 'many authors, low', mgPerLPerYear: 20, source: 'IVES Technical Reviews 5449' },
  { what: 'many authors, high', mgPerLPerYear: 27, source: 'IVES Technical Reviews 5449' },
  { what: 'old barrel', mgPerLPerYear: 10, source: 'Vivas & Glories 1997, quoted in Wines & Vines Dec 2015' },
  { what: 'side bung', mgPerLPerYear: 36, source: 'Vivas & Glories 1997, quoted in Wines & Vines Dec 2015' },
  { what: 'silicone bung', mgPerLPerYear: 45, source: 'Vivas & Glories 1997, quoted in Wines & Vines Dec 2015' },
] as const

/** Oak pieces give wood constituents only (OIV II.3.5.12.2): no slow oxygen. */
export const OAK_PIECES_OXYGEN_MG_PER_L_PER_YEAR = 0

/** Weeks that oak pieces stay, and their grams: 1-4 g/L for 2-6 weeks; common practice. */
export const oakPiecesG = (volumeL: number, doseGPerL: number): number =>
  positive('volumeL', volumeL, 'L') * within('doseGPerL', doseGPerL, 0.1, 10, 'g/L')
