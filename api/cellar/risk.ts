import { within } from './guard.ts'

export interface RiskInput {
  readonly sugarGPerL: number
  readonly yanMgPerL: number
  /** Warmest and coldest of the plan. */
  readonly maxC: number
  readonly minC: number
  readonly ntu?: number
  readonly ambientYeast?: boolean
  readonly freeSo2MgPerL?: number
  /** What the forecast leaves behind. */
  readonly restGPerL?: number
}

export interface FermentRisk {
  readonly level: 'low' | 'raised' | 'high'
  readonly reasons: readonly string[]
}

/**
 * Risk of a sluggish or stuck end. High: the model stops above 4 g/L, or above 30 C with more than 260 g/L, or under 100 mg/L
 * nitrogen. Raised: nitrogen under 150 (AWRI), turbidity under 50 NTU (WINETECH 2021), below 12 C, above 260 g/L, ambient yeast,
 * free SO2 above 15. Thresholds without a name are common practice.
 */
export function fermentRisk(c: RiskInput): FermentRisk {
  within('sugarGPerL', c.sugarGPerL, 20, 400, 'g/L')
  within('yanMgPerL', c.yanMgPerL, 0, 1000, 'mg/L')
  within('maxC', c.maxC, 0, 45, 'C')
  within('minC', c.minC, 0, c.maxC, 'C')
  const high = [
    ...(c.restGPerL !== undefined && c.restGPerL > 4
      ? [`the model stops at ${c.restGPerL.toFixed(0)} g/L under this plan`]
      : []),
    ...(c.maxC > 30 && c.sugarGPerL > 260 ? ['above 30 C with more than 260 g/L sugar'] : []),
    ...(c.yanMgPerL < 100 ? [`only ${c.yanMgPerL} mg/L nitrogen`] : []),
  ]
  const raised = [
    ...(c.yanMgPerL >= 100 && c.yanMgPerL < 150 ? [`nitrogen ${c.yanMgPerL} mg/L, 150 wanted at least`] : []),
    ...(c.ntu !== undefined && c.ntu < 50 ? [`juice of ${c.ntu} NTU is too clear`] : []),
    ...(c.minC < 12 ? [`down to ${c.minC} C`] : []),
    ...(c.sugarGPerL > 260 ? [`${c.sugarGPerL.toFixed(0)} g/L sugar`] : []),
    ...(c.ambientYeast ? ['ambient yeast tires early'] : []),
    ...(c.freeSo2MgPerL !== undefined && c.freeSo2MgPerL > 15 ? ['free SO2 above 15 mg/L'] : []),
  ]
  const level = high.length > 0 || raised.length >= 3 ? 'high' : raised.length > 0 ? 'raised' : 'low'
  return { level, reasons: [...high, ...raised] }
}
