import type { VesselWire } from '../../api/wire.ts'

/**
 * How far a dip may be off the book before it wants a word: 1 % in tanks, 3 % in wood and kegs, where a finger's
 * breadth is many litres. Common practice.
 */
export const toleranceShare = (kind: VesselWire['kind']): number =>
  ['barrel', 'puncheon', 'cask', 'keg'].includes(kind) ? 0.03 : 0.01

export interface Difference {
  /** Measured minus expected, L. */
  readonly differenceL: number
  readonly toleranceL: number
  readonly isWithin: boolean
}

/** @param expectedL litres by the book or by the plan, >= 0 */
export function differenceOf(measuredL: number, expectedL: number, kind: VesselWire['kind']): Difference {
  const differenceL = Math.round((measuredL - expectedL) * 1000) / 1000
  const toleranceL = expectedL * toleranceShare(kind)
  return { differenceL, toleranceL, isWithin: Math.abs(differenceL) <= toleranceL + 1e-9 }
}
