/** Additions as the ledger takes them: into which vessel, at which place in the order, how much. */
import type { AdditionRow, LevelThen } from '../../db/queries/dosed.ts'
import type { Dosed } from '../cellar/ledger/flow.ts'

/** After every movement of its moment, and before the first. */
export const LAST_ENTRY = Number.MAX_SAFE_INTEGER
export const FIRST_ENTRY = -1

/** Grams of what is weighed, millilitres of what is poured: `g:bentonite`. */
export function doseOf(a: Pick<AdditionRow, 'product' | 'amount' | 'unit'>): {
  readonly product: string
  readonly amount: number
} {
  const inMl = a.unit === 'mL' || a.unit === 'L'
  const times = a.unit === 'kg' || a.unit === 'L' ? 1000 : 1
  return { product: `${inMl ? 'mL' : 'g'}:${a.product}`, amount: a.amount * times }
}

/**
 * Where an addition went: the vessel told, or every vessel of the lot at the dose told (amount over litres treated).
 * A vessel emptied in the same moment took it before; one that was empty then took nothing.
 *
 * @param then levels of the vessels that may be meant, at the addition's moment
 */
export function dosedInto(a: AdditionRow, then: readonly LevelThen[]): readonly Dosed[] {
  const { product, amount } = doseOf(a)
  if (!(amount > 0)) return []
  const atMs = a.addedAt.epochMilliseconds
  return then
    .filter((l) => l.atMs === atMs && (a.vesselId === null || l.vesselId === a.vesselId))
    .flatMap((l) => {
      const isAfter = l.afterMl > 0
      const levelMl = isAfter ? l.afterMl : l.beforeMl
      const lotId = isAfter ? l.afterLotId : l.beforeLotId
      if (!(levelMl > 0) || (a.vesselId === null && lotId !== a.lotId)) return []
      const part = a.vesselId === null ? (amount * levelMl) / (a.treatedL * 1000) : amount
      return [{ product, amount: part, vesselId: l.vesselId, atMs, entry: isAfter ? LAST_ENTRY : FIRST_ENTRY, levelMl }]
    })
}
