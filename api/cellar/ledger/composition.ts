import type { Receipt } from './movement.ts'
import { type Parcel, shares } from './parcel.ts'

export const ATTRIBUTES = ['variety', 'vintage', 'block', 'origin'] as const
export type Attribute = (typeof ATTRIBUTES)[number]

/** Shares of a parcel by variety, vintage, block and origin; each adds up to 1. Unknown wine is named so. */
export function composition(
  parcel: Parcel,
  receipts: ReadonlyMap<string, Receipt>,
): Record<Attribute, Map<string, number>> {
  const by = (attribute: Attribute) => {
    const out = new Map<string, number>()
    for (const [id, share] of shares(parcel)) {
      const value = receipts.get(id)?.[attribute] ?? 'unknown'
      out.set(value, (out.get(value) ?? 0) + share)
    }
    return out
  }
  return { variety: by('variety'), vintage: by('vintage'), block: by('block'), origin: by('origin') }
}

/** Wines of several vessels as if they were one: what a lot in sixteen barrels is made of. */
export function together(parcels: readonly Parcel[]): Parcel {
  const sourcesMl = new Map<string, number>()
  const additionsG = new Map<string, number>()
  for (const p of parcels) {
    for (const [k, v] of p.sourcesMl) sourcesMl.set(k, (sourcesMl.get(k) ?? 0) + v)
    for (const [k, v] of p.additionsG) additionsG.set(k, (additionsG.get(k) ?? 0) + v)
  }
  return { volumeMl: parcels.reduce((sum, p) => sum + p.volumeMl, 0), sourcesMl, additionsG }
}

/**
 * Label shares that a claim may ask for. Which holds where is for each cellar to check: 85 % for variety, vintage and
 * region is the Australian rule (Triggs, National Liquor News, April 2019); 75 and 95 % are from memory, verify.
 */
export const CLAIM_SHARES = [0.75, 0.85, 0.95] as const

/**
 * Litres of other wine that may still be blended in before a share falls below a limit.
 *
 * Mass balance (definition): share x V / (V + x) = limit, hence x = V (share / limit - 1).
 *
 * @param volumeL wine now, L, >= 0
 * @param share   share of the claimed value now, 0 to 1
 * @param limit   the least share, 0 < limit <= 1
 * @returns litres, 0 where the share is below the limit already
 */
export function mayStillBlendL(volumeL: number, share: number, limit: number): number {
  if (!(volumeL >= 0)) throw new RangeError(`volumeL must be >= 0, got ${volumeL}`)
  if (!(share >= 0 && share <= 1 + 1e-9)) throw new RangeError(`share must be 0 to 1, got ${share}`)
  if (!(limit > 0 && limit <= 1)) throw new RangeError(`limit must be in (0, 1], got ${limit}`)
  return Math.max(0, volumeL * (share / limit - 1))
}
