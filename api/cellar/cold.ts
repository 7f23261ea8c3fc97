import { within } from './guard.ts'

/** Slow cold treatment: days at -4 C. Handbook of Enology vol. 2 (Maujean et al. 1985), as quoted. */
export const COLD_DAYS_AT_MINUS_4 = 10

/**
 * Coldest useful temperature, just above freezing: -(alcohol - 1) / 2. From memory, verify; a page prints -A/2 + 1, and its own
 * example does not fit it. 11 %: -5 C.
 */
export const coldTempC = (alcoholPctVol: number): number =>
  -(within('alcoholPctVol', alcoholPctVol, 8, 17, '% vol') - 1) / 2

/** Contact process: 4 h with 5 g/L cream of tartar at 2 C in the trial; 2-4 g/L and 2 h stirring in practice. */
export const CONTACT_SEED_G_PER_L = { trial: 5, practice: [2, 4] } as const

/** Cold test: -4 C for 3 days without crystals. AWRI. */
export const COLD_TEST = { tempC: -4, hours: 72 } as const
/** Heat test: 80 C for 2 h, cooled 3 h; a change under 2 NTU passes. AWRI. */
export const HEAT_TEST = { tempC: 80, hours: 2, coolH: 3, passNtu: 2 } as const
