import { no, ok, type Result } from '../result.ts'
import { notNegative, within } from './guard.ts'

/** SO2 + 1/2 O2: at most 64.06 / 16.00 = 4.0 mg SO2 for each mg of oxygen. Stoichiometry. */
export const SO2_PER_OXYGEN = 4.0
/** Half of the oxygen goes to phenols instead. Common practice, no source. */
const TAKEN_SHARE = 0.5
/** Slow binding in a full closed vessel, mg/L a month. Common practice, no source. */
const BINDS_PER_MONTH = 1

export interface So2Ahead {
  readonly likelyMgPerL: number
  readonly lowestMgPerL: number
}

/** Free SO2 to expect at the next check, from the oxygen a vessel lets in. Re-check 1-2 weeks after an addition, then monthly. */
export function freeSo2Ahead(freeSo2MgPerL: number, days: number, oxygenMgPerLPerYear: number): So2Ahead {
  notNegative('freeSo2MgPerL', freeSo2MgPerL, 'mg/L')
  within('days', days, 0, 730, 'd')
  within('oxygenMgPerLPerYear', oxygenMgPerLPerYear, 0, 60, 'mg/L/year')
  const most = (oxygenMgPerLPerYear * days * SO2_PER_OXYGEN) / 365
  const binds = (BINDS_PER_MONTH * days) / 30.4
  return {
    likelyMgPerL: Math.max(0, freeSo2MgPerL - most * TAKEN_SHARE - binds),
    lowestMgPerL: Math.max(0, freeSo2MgPerL - most - 2 * binds),
  }
}

/** Days until the free SO2 is expected to fall to a level; null when it starts below. */
export function daysToFreeSo2(freeSo2MgPerL: number, levelMgPerL: number, oxygenMgPerLPerYear: number): number | null {
  if (freeSo2MgPerL < levelMgPerL) return null
  const perDay =
    (within('oxygenMgPerLPerYear', oxygenMgPerLPerYear, 0, 60) * SO2_PER_OXYGEN * TAKEN_SHARE) / 365 +
    BINDS_PER_MONTH / 30.4
  return (freeSo2MgPerL - levelMgPerL) / perDay
}

/** While malolactic is awaited no SO2 may go in: bacteria stop above 5-10 free and 30-40 mg/L total (AWRI). */
export function so2Unlocked(awaitsMalolactic: boolean, malicGPerL?: number): Result<true, 'malolactic-awaited'> {
  if (!awaitsMalolactic) return ok(true)
  return malicGPerL !== undefined && malicGPerL < 0.1 ? ok(true) : no('malolactic-awaited')
}
