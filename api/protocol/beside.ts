/** What a stored task keeps beside its plan: why it moved last, and the doses somebody last looked at. */
import type { Dose, Grain } from './types.ts'

/** Where it stood, where it stands, and what moved it: `dry came 2 Apr instead of 30 Mar, so 1 Apr -> 5 Apr`. */
export interface TaskChange {
  readonly at: string
  readonly fromStartAt: string
  readonly toStartAt: string
  /** Of which start only the day was, or is, meant. Absent: neither. */
  readonly fromGrain?: Grain
  readonly toGrain?: Grain
  readonly words: string
}

/** The doses as they were when somebody last looked, and when they became others. */
export interface DoseWas {
  readonly at: string
  readonly doses: readonly Dose[]
}

export interface Beside {
  readonly change?: TaskChange
  readonly doseWas?: DoseWas
}

/**
 * A dose whose volume or reading changed asks for a fresh look, however small the change: the arithmetic names both.
 *
 * @param old what the row says: its doses, and what it kept beside them
 * @param lookedAt when somebody last said that they have seen it
 */
export function doseWas(
  old: { readonly doses: readonly Dose[]; readonly doseWas?: DoseWas },
  doses: readonly Dose[],
  lookedAt: string | undefined,
  nowAt: string,
): DoseWas | undefined {
  const kept = old.doseWas && !isLooked(old.doseWas, lookedAt) ? old.doseWas : undefined
  const seen = kept?.doses ?? old.doses
  if (seen.length === 0 || same(seen, doses)) return undefined
  return { at: kept && same(old.doses, doses) ? kept.at : nowAt, doses: seen }
}

/** Both moments are ISO 8601 in UTC, of any precision. */
export const isLooked = (was: DoseWas, lookedAt: string | undefined): boolean =>
  lookedAt !== undefined && Date.parse(lookedAt) >= Date.parse(was.at)

const same = (a: readonly Dose[], b: readonly Dose[]): boolean =>
  a.length === b.length && a.every((dose, i) => line(dose) === line(b[i]))

const line = (dose: Dose | undefined): string =>
  dose ? [dose.product, dose.amount, dose.unit, dose.volumeL, dose.arithmetic].join('|') : ''
