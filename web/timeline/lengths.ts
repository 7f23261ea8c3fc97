/** Lengths that are a choice: how long on skins, how long on fine lees. The band's end is their handle. */
import type { Choices } from '../../api/protocol/choices.ts'
import type { Model, PhaseItem } from './model.ts'
import { DAY_MS, HOUR_MS } from './scale.ts'

export interface Length {
  readonly phase: PhaseItem
  readonly choice: 'skinContactH' | 'fineLeesMonths'
  readonly name: string
  readonly unit: string
  readonly unitMs: number
  /** Range of the choice. */
  readonly least: number
  readonly most: number
  readonly step: number
}

/** A month of lees is an average month; the plan rounds to days. */
const MONTH_MS = 30.44 * DAY_MS

export function lengthOf(phase: PhaseItem): Length | undefined {
  if (phase.kind === 'macerate')
    return {
      phase,
      choice: 'skinContactH',
      name: 'Skin contact',
      unit: 'h',
      unitMs: HOUR_MS,
      least: 1,
      most: 72,
      step: 1,
    }
  if (phase.kind === 'lees')
    return {
      phase,
      choice: 'fineLeesMonths',
      name: 'On fine lees',
      unit: 'months',
      unitMs: MONTH_MS,
      least: 0,
      most: 24,
      step: 0.5,
    }
  return undefined
}

/** Those of a lot that have not ended yet. */
export const lengthsOf = (model: Model, lotCode: string, nowMs: number): readonly Length[] =>
  model.phases
    .filter((p) => p.lotCode === lotCode && p.endMs > nowMs)
    .flatMap((p) => lengthOf(p) ?? [])
    .filter((one, i, all) => all.findIndex((other) => other.choice === one.choice) === i)

/** What the choice says now, counted off the band. */
export const lengthNow = ({ phase, unitMs, step }: Length): number =>
  Math.round((phase.endMs - phase.startMs) / unitMs / step) * step

/** What it would say if the band ended there, in whole steps of its range. */
export function lengthAt({ phase, unitMs, step, least, most }: Length, endMs: number): number {
  const steps = Math.round((endMs - phase.startMs) / unitMs / step)
  return Math.min(most, Math.max(least, steps * step))
}

export const lengthChange = (length: Length, value: number): Partial<Choices> =>
  length.choice === 'skinContactH' ? { skinContactH: value } : { fineLeesMonths: value }
