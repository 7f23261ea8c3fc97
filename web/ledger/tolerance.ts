import { toleranceShare } from '../../api/cellar/ledger/tolerance.ts'
import type { VesselWire } from '../../api/wire.ts'

export interface Difference {
  /** Measured minus expected, L. */
  readonly differenceL: number
  readonly toleranceL: number
  readonly isWithin: boolean
}

/** @param expectedL litres by the book or by the plan, >= 0 */
export function differenceOf(measuredL: number, expectedL: number, kind: VesselWire['kind']): Difference {
  const differenceL = Math.round((measuredL - expectedL) * 1000) / 1000
  const toleranceL = expectedL * toleranceShare([kind])
  return { differenceL, toleranceL, isWithin: Math.abs(differenceL) <= toleranceL + 1e-9 }
}
