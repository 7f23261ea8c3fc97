import type { ChoiceKey } from '../choices.ts'
import type { Basis } from '../types.ts'

export interface OptionNote {
  readonly value: string
  readonly label: string
  /** What this answer does, where it is more than its label says. */
  readonly does?: string
}

/** One of the 25 choices in plain trade words. */
export interface ChoiceNote {
  /** Place in the order of the tree, 1 to 25. */
  readonly nr: number
  /** Answers it covers; the first is the kind, the others its numbers. */
  readonly keys: readonly ChoiceKey[]
  readonly label: string
  readonly question: string
  /** Options per answer that is one of a list. */
  readonly options: Readonly<Partial<Record<ChoiceKey, readonly OptionNote[]>>>
  /** Usual range of the numbers, with unit. */
  readonly range: string
  readonly wine: string
  readonly time: string
  readonly cost: string
  readonly labour: string
  readonly basis: Basis
}
