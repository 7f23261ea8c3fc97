/** A move in progress: what is held, where it would start, what is said of it. Nothing is kept before it is committed. */
import { type Days, dayIndex, snapMs, wallMinute, wallMs } from './days.ts'
import type { Model } from './model.ts'
import type { MoveRules } from './rules.ts'
import { judgeMove, type Verdict } from './verdict.ts'
import { type MoveWindow, moveWindow } from './window.ts'

export interface Move {
  readonly ix: number
  readonly fromMs: number
  readonly startMs: number
  readonly andFollows: boolean
  readonly window: MoveWindow
  readonly verdict: Verdict
  /** Dropped on a person's row. */
  readonly person?: string
  /** Dropped on a vessel's row. */
  readonly vessel?: string
}

export function beginMove(rules: MoveRules, ix: number, andFollows = true): Move {
  const startMs = rules.model.startMs[ix] as number
  const window = moveWindow(rules, ix, andFollows)
  return {
    ix,
    fromMs: startMs,
    startMs,
    andFollows,
    window,
    verdict: judgeMove(rules, { ix, startMs, andFollows }, window),
  }
}

export function moveTo(rules: MoveRules, move: Move, startMs: number, person?: string, vessel?: string): Move {
  const wish = {
    ix: move.ix,
    startMs,
    andFollows: move.andFollows,
    ...(person && { people: [person] }),
    ...(vessel && { vessel }),
  }
  return {
    ix: move.ix,
    fromMs: move.fromMs,
    startMs,
    andFollows: move.andFollows,
    window: move.window,
    verdict: judgeMove(rules, wish, move.window),
    ...(person && { person }),
    ...(vessel && { vessel }),
  }
}

export function withFollowers(rules: MoveRules, move: Move, andFollows: boolean): Move {
  const window = moveWindow(rules, move.ix, andFollows)
  return moveTo(rules, { ...move, andFollows, window }, move.startMs, move.person, move.vessel)
}

/** True only when something would change: letting go where one took hold is no move. */
export const isMoved = (move: Pick<Move, 'ix' | 'startMs' | 'fromMs' | 'person' | 'vessel'>, model: Model): boolean =>
  move.startMs !== move.fromMs ||
  move.vessel !== undefined ||
  (move.person !== undefined && !(model.plan.tasks[move.ix]?.people ?? []).includes(move.person))

/** Finer steps the closer one looks. */
export const stepMin = (days: number): number => (days <= 3 ? 15 : days <= 14 ? 30 : days <= 62 ? 60 : 240)

/** The same time of the day some local days on; a DST day makes no difference to the clock on the wall. */
export function daysOn(days: Days, atMs: number, by: number): number {
  const index = Math.max(0, Math.min(days.startMs.length - 2, dayIndex(days, atMs) + by))
  return wallMs(days, index, Math.round(wallMinute(days, atMs)))
}

/**
 * Where the hand has brought a task. The grab keeps its distance to the start, so that taking hold moves nothing.
 *
 * @param handMs the moment under the pointer
 * @param heldMs the moment under the pointer when it took hold
 */
export function draggedTo(days: Days, move: Move, handMs: number, heldMs: number, step: number): number {
  if (handMs === heldMs) return move.fromMs
  return snapMs(days, move.fromMs + handMs - heldMs, step)
}

export type MoveKey = 'step-back' | 'step-on' | 'day-back' | 'day-on' | 'earliest' | 'latest'

export function keyedTo(days: Days, move: Move, key: MoveKey, step: number): number {
  switch (key) {
    case 'step-back':
      return snapMs(days, move.startMs - step * 60_000, step)
    case 'step-on':
      return snapMs(days, move.startMs + step * 60_000, step)
    case 'day-back':
      return daysOn(days, move.startMs, -1)
    case 'day-on':
      return daysOn(days, move.startMs, 1)
    case 'earliest':
      return move.window.earliest.ms
    case 'latest':
      return move.window.latest.ms
  }
}
