/** Vessels where a finger's breadth on the dip is many litres of a hundred. */
const SMALL: ReadonlySet<string> = new Set(['barrel', 'puncheon', 'cask', 'keg'])

/**
 * How far measured litres may be off the book or the plan before they want a word, as a share of the expected: 1 % in
 * tanks, 3 % where all of it lies in wood or kegs. Common practice.
 *
 * @param kinds of the vessels measured; one that is not known counts as a tank
 */
export const toleranceShare = (kinds: readonly (string | undefined)[]): number =>
  kinds.length > 0 && kinds.every((kind) => kind !== undefined && SMALL.has(kind)) ? 0.03 : 0.01
