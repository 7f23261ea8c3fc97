/** Starts worth offering to somebody who does not drag. */
import { daysOn } from './move.ts'
import type { MoveRules } from './rules.ts'
import { judgeMove, type Verdict } from './verdict.ts'
import { moveWindow } from './window.ts'

export interface Slot {
  readonly label: string
  readonly startMs: number
  readonly verdict: Verdict
}

export function slotsFor(rules: MoveRules, ix: number): readonly Slot[] {
  const { model, days } = rules
  const startMs = model.startMs[ix] as number
  const window = moveWindow(rules, ix, true)
  const offers: readonly (readonly [string, number])[] = [
    ['Earliest', window.earliest.ms],
    ['A day earlier', daysOn(days, startMs, -1)],
    ['A day later', daysOn(days, startMs, 1)],
    ['Two days later', daysOn(days, startMs, 2)],
    ['Latest', window.latest.ms],
  ]
  return offers
    .filter(([, ms]) => ms !== startMs)
    .map(([label, ms]) => ({
      label,
      startMs: ms,
      verdict: judgeMove(rules, { ix, startMs: ms, andFollows: true }, window),
    }))
}
