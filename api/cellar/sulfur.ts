import { notNegative, within } from './guard.ts'
import { oivPk } from './sulfur-oiv.ts'

/**
 * Only molecular SO2 stops microbes; how much of the free SO2 that is depends on pH and on the pK taken.
 * molecular = free / (1 + 10^(pH - pK)). OIV-MA-AS323-04C.
 * pK by choice: 1.81 (most tables), 1.77 (one laboratory's page), or the OIV method by wine temperature and alcohol
 * (1.74-2.12 over 15-25 C). At pH 3.2, 0.8 mg/L asks for 20.4, 22.3 or 15.7 mg/L free: always show which was taken.
 */
export type PkChoice = 1.81 | 1.77 | OivConditions

export interface OivConditions {
  readonly alcoholPctVol: number
  readonly tempC: number
  /** mol/L, default 0.038, 0.016-0.056 in wines. */
  readonly ionicStrength?: number
}

export const pkOf = (choice: PkChoice): number =>
  typeof choice === 'number'
    ? within('pK', choice, 1.7, 2.2)
    : oivPk(choice.alcoholPctVol, choice.tempC, choice.ionicStrength)

/** Words for the screen beside every figure. */
export const pkWords = (choice: PkChoice): string =>
  typeof choice === 'number'
    ? `pK ${choice}`
    : `pK ${pkOf(choice).toFixed(2)} (OIV, ${choice.alcoholPctVol} % vol, ${choice.tempC} C)`

/** Share of the free SO2 that is molecular, 0 to 1. */
export const molecularShare = (pH: number, choice: PkChoice = 1.81): number =>
  1 / (1 + 10 ** (within('pH', pH, 2.6, 4.5) - pkOf(choice)))

export const molecularSo2 = (freeSo2MgPerL: number, pH: number, choice: PkChoice = 1.81): number =>
  notNegative('freeSo2MgPerL', freeSo2MgPerL, 'mg/L') * molecularShare(pH, choice)

/** Free SO2 that holds a molecular level. Targets: storage 0.5-0.8, bottling 0.8 (0.7 under screw cap), practicalwinery 2009. */
export const freeSo2Needed = (molecularMgPerL: number, pH: number, choice: PkChoice = 1.81): number =>
  within('molecularMgPerL', molecularMgPerL, 0, 3, 'mg/L') / molecularShare(pH, choice)
