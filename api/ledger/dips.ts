/** Dips against the book: what measuring does not explain is a fault, unless somebody wrote the difference down and said why. */
import type { LedgerFaultJson } from '../../db/json.ts'
import type { Difference, Dipped } from '../../db/queries/dips.ts'
import { toleranceShare } from '../cellar/ledger/tolerance.ts'
import { litres } from './refused.ts'

/** @param differences the earliest first */
export const dipFaults = (
  dipped: readonly Dipped[],
  differences: readonly Difference[],
  kind: (vesselId: string) => string | undefined,
  code: (vesselId: string) => string,
): LedgerFaultJson[] =>
  dipped
    .map((d) => ({ ...d, usualMl: toleranceShare([kind(d.vesselId)]) * d.bookMl }))
    .filter((d) => Math.abs(d.measuredMl - d.bookMl) > d.usualMl)
    .map((d) => {
      const explained = differences.find((e) => explains(e, d))
      return {
        rule: 'dip',
        words: `${code(d.vesselId)} was dipped at ${litres(d.measuredMl)} where the book has ${litres(d.bookMl)}.`,
        movementId: d.movementId,
        vesselId: d.vesselId,
        ...(explained ? { accepted: acceptedBy(explained) } : {}),
      }
    })

/**
 * A difference explains a dip where it was written down after it, in the same filling of the vessel, is itself more
 * than measuring explains, and brings the book to what was dipped, as near as measuring is.
 */
function explains(e: Difference, d: Dipped & { readonly usualMl: number }): boolean {
  const isAfter = e.atMs > d.atMs || (e.atMs === d.atMs && e.entry > d.entry)
  return (
    isAfter &&
    e.vesselId === d.vesselId &&
    e.filling === d.filling &&
    Math.abs(e.differenceMl) > d.usualMl &&
    Math.abs(d.measuredMl - d.bookMl - e.differenceMl) <= d.usualMl
  )
}

const acceptedBy = (e: Difference) => ({
  movementId: e.movementId,
  words: `${litres(Math.abs(e.differenceMl))} ${e.differenceMl < 0 ? 'gone' : 'found'}: ${e.reason}`,
})
