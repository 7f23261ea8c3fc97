import type { Receipt } from './movement.ts'

/**
 * A body of wine that is the same throughout: how much, what it is made of, what was put in.
 * Sources are millilitres by receipt and add up to the volume; additions are grams by product.
 */
export interface Parcel {
  readonly volumeMl: number
  readonly sourcesMl: ReadonlyMap<string, number>
  readonly additionsG: ReadonlyMap<string, number>
}

export const EMPTY: Parcel = { volumeMl: 0, sourcesMl: new Map(), additionsG: new Map() }

const scaled = (amounts: ReadonlyMap<string, number>, by: number): Map<string, number> =>
  new Map([...amounts].map(([k, v]) => [k, v * by]))

const summed = (a: ReadonlyMap<string, number>, b: ReadonlyMap<string, number>): Map<string, number> => {
  const sum = new Map(a)
  for (const [k, v] of b) sum.set(k, (sum.get(k) ?? 0) + v)
  return sum
}

/** Wine just received: wholly of one receipt. */
export const received = (volumeMl: number, receipt: Receipt): Parcel => ({
  volumeMl,
  sourcesMl: new Map([[receipt.id, volumeMl]]),
  additionsG: new Map(),
})

/**
 * Takes a volume out of a well-mixed parcel: everything leaves in proportion.
 *
 * @throws RangeError when more is asked for than there is (the caller looks first)
 */
export function draw(from: Parcel, volumeMl: number): { readonly taken: Parcel; readonly rest: Parcel } {
  if (!(volumeMl >= 0 && volumeMl <= from.volumeMl))
    throw new RangeError(`volumeMl must be between 0 and ${from.volumeMl}, got ${volumeMl}`)
  if (volumeMl === from.volumeMl) return { taken: from, rest: EMPTY }
  const share = volumeMl / from.volumeMl
  const part = (volume: number, by: number): Parcel => ({
    volumeMl: volume,
    sourcesMl: scaled(from.sourcesMl, by),
    additionsG: scaled(from.additionsG, by),
  })
  return { taken: part(volumeMl, share), rest: part(from.volumeMl - volumeMl, 1 - share) }
}

/** Two parcels in one vessel, mixed. */
export const mix = (a: Parcel, b: Parcel): Parcel =>
  a.volumeMl === 0
    ? b
    : b.volumeMl === 0
      ? a
      : {
          volumeMl: a.volumeMl + b.volumeMl,
          sourcesMl: summed(a.sourcesMl, b.sourcesMl),
          additionsG: summed(a.additionsG, b.additionsG),
        }

/** A measured gain: more litres of what was there, since nothing came in. What was put in stays as it was. */
export const swell = (parcel: Parcel, byMl: number): Parcel => ({
  volumeMl: parcel.volumeMl + byMl,
  sourcesMl: scaled(parcel.sourcesMl, (parcel.volumeMl + byMl) / parcel.volumeMl),
  additionsG: parcel.additionsG,
})

export const put = (parcel: Parcel, product: string, amountG: number): Parcel => ({
  ...parcel,
  additionsG: summed(parcel.additionsG, new Map([[product, amountG]])),
})

/** Share of each receipt, 0 to 1; they add up to 1. */
export function shares(parcel: Parcel): Map<string, number> {
  const total = [...parcel.sourcesMl.values()].reduce((a, b) => a + b, 0)
  return total > 0 ? scaled(parcel.sourcesMl, 1 / total) : new Map()
}

/** mg/L put in so far, diluted by every blend; not what an analysis would find. */
export const addedMgPerL = (parcel: Parcel, product: string): number =>
  parcel.volumeMl > 0 ? ((parcel.additionsG.get(product) ?? 0) * 1_000_000) / parcel.volumeMl : 0
