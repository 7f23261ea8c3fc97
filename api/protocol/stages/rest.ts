import type { Body } from '../rooms.ts'
import type { Setting } from '../setting.ts'
import type { FinishDates } from './finish-dates.ts'
import type { Malolactic } from './malolactic.ts'

export interface Rest {
  readonly bodies: readonly Body[]
  /** Dry, stopped or pressed off its skins. */
  readonly endedKey: string
  readonly endedMin: number
  readonly kind: 'dry' | 'stopped' | 'pressed'
  readonly dates: FinishDates
  readonly malolactic: Malolactic
  /** Already racked off its gross lees on the way here. */
  readonly clean: boolean
}

export const racksGross = (s: Setting): boolean =>
  s.choices.grossLees === 'within-3-days' || s.choices.grossLees === 'within-10-days'
