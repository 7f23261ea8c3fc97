/** How a task looks as a peg: the few hundred looks there are, each made once. */
import type { Family } from '../../api/protocol/types.ts'
import { CONFLICT, FAMILY_ORDER, LATE, type Model, PEG_STATES, type PegState, PINNED } from './model.ts'

export interface PegLook {
  readonly family: Family
  readonly state: PegState
  readonly late: boolean
  readonly conflict: boolean
  readonly pinned: boolean
  /** How far a running task has come, in eighths. */
  readonly eighths: number
  /** A number for each look. */
  readonly code: number
}

export const LOOK_CODES = 6 * 5 * 9 * 8

const DONE = PEG_STATES.indexOf('done')
const UNDERWAY = PEG_STATES.indexOf('underway')
const looks: (PegLook | undefined)[] = new Array(LOOK_CODES)

export function lookOf(model: Model, ix: number, nowMs: number): PegLook {
  const state = model.state[ix] as number
  const flags = model.flags[ix] as number
  const shown = state === DONE ? 0 : flags & (LATE | CONFLICT | PINNED)
  const startMs = model.startMs[ix] as number
  const share = state === UNDERWAY ? (nowMs - startMs) / Math.max(1, (model.endMs[ix] as number) - startMs) : 0
  const eighths = state === UNDERWAY ? Math.round(Math.min(1, Math.max(0.125, share)) * 8) : 0
  return lookBy(model.family[ix] as number, state, eighths, shown)
}

export function lookBy(family: number, state: number, eighths: number, flags: number): PegLook {
  const code = ((family * 5 + state) * 9 + eighths) * 8 + flags
  const known = looks[code]
  if (known) return known
  const made: PegLook = {
    family: FAMILY_ORDER[family] as Family,
    state: PEG_STATES[state] as PegState,
    late: (flags & LATE) !== 0,
    conflict: (flags & CONFLICT) !== 0,
    pinned: (flags & PINNED) !== 0,
    eighths,
    code,
  }
  looks[code] = made
  return made
}

/** The same task with another sign of trouble, or none. */
export const lookWith = (look: PegLook, flags: number): PegLook =>
  lookBy(FAMILY_ORDER.indexOf(look.family), PEG_STATES.indexOf(look.state), look.eighths, flags)

export const flagsOf = (look: PegLook): number =>
  (look.late ? LATE : 0) | (look.conflict ? CONFLICT : 0) | (look.pinned ? PINNED : 0)
