import { KMBS_SO2_SHARE } from './addition.ts'
import { notNegative, positive, within } from './guard.ts'
import { type So2Regime, TOTAL_SO2_TASTE_MG_PER_L, totalSo2Limit } from './sulfur-limits.ts'

/** Metabisulphite that went in since total SO2 was last measured, and the litres it went into. */
export interface SulphiteAdded {
  readonly doseG: number
  readonly treatedL: number
  readonly so2Share?: number
}

export interface RunningTotal {
  readonly totalMgPerL: number
  readonly limitMgPerL: number
  /** What may still be added before the limit. */
  readonly roomMgPerL: number
  readonly overLimit: boolean
  readonly tasted: boolean
  readonly steps: readonly string[]
}

/**
 * Total SO2 as it must stand now: the last measurement and every addition since. It counts upwards only; losses to air and lees are
 * left to the next measurement, so it errs on the side of the limit.
 */
export function runningTotal(
  measuredMgPerL: number,
  added: readonly SulphiteAdded[],
  regime: So2Regime,
  sugarGPerL: number,
): RunningTotal {
  notNegative('measuredMgPerL', measuredMgPerL, 'mg/L')
  const parts = added.map((a) => {
    notNegative('doseG', a.doseG, 'g')
    positive('treatedL', a.treatedL, 'L')
    return (a.doseG * within('so2Share', a.so2Share ?? KMBS_SO2_SHARE, 0.3, 0.68) * 1000) / a.treatedL
  })
  const totalMgPerL = parts.reduce((total, part) => total + part, measuredMgPerL)
  const limit = totalSo2Limit(regime, sugarGPerL)
  return {
    totalMgPerL,
    limitMgPerL: limit.totalMgPerL,
    roomMgPerL: Math.max(0, limit.totalMgPerL - totalMgPerL),
    overLimit: totalMgPerL > limit.totalMgPerL,
    tasted: totalMgPerL > TOTAL_SO2_TASTE_MG_PER_L,
    steps: [
      `measured ${measuredMgPerL} mg/L${parts.map((p) => ` + ${p.toFixed(1)}`).join('')} = ${totalMgPerL.toFixed(0)} mg/L`,
      `limit ${limit.totalMgPerL} mg/L: ${limit.source} (${limit.printed}); ${limit.note}`,
    ],
  }
}
