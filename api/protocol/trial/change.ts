import type { Choices } from '../choices.ts'
import type { Fruit } from '../facts.ts'

/** One thing that would be otherwise. As it is stored and travels: ids, days and moments as ISO text. */
export type TrialChange =
  | { readonly kind: 'pick'; readonly lot: string; readonly pickOn: string }
  | { readonly kind: 'move'; readonly taskKey: string; readonly startAt: string; readonly people?: readonly string[] }
  | {
      readonly kind: 'more-fruit'
      /** A lot whose fruit and answers the new one takes. */
      readonly like: string
      readonly code: string
      readonly on: string
      readonly tonnes: number
    }
  | { readonly kind: 'fruit'; readonly lot: string; readonly fruit: Partial<Fruit> }
  | {
      readonly kind: 'machine-down'
      readonly machine: string
      readonly fromAt: string
      readonly toAt: string
      readonly why: string
    }
  | {
      readonly kind: 'away'
      readonly person: string
      readonly fromAt: string
      readonly toAt: string
      readonly reason: string
    }
  /** Somebody's work of one day ends later. */
  | { readonly kind: 'stay'; readonly person: string; readonly on: string; readonly untilMin: number }
  /** `null` takes an answer away that may be absent. */
  | { readonly kind: 'choices'; readonly lot: string; readonly choices: ChangedChoices }
  | { readonly kind: 'vessel'; readonly lot: string; readonly hold: string; readonly vessels: readonly string[] }

export type ChangedChoices = { readonly [K in keyof Choices]?: Choices[K] | null }

export const TRIAL_STATES = ['open', 'adopted', 'dropped', 'undone'] as const
export type TrialState = (typeof TRIAL_STATES)[number]
