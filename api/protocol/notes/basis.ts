import type { Basis } from '../types.ts'

export const custom: Basis = { kind: 'common-practice' }

/** A source for what the note names; every other word is common practice. */
export const partly = (note: string, ...refs: readonly string[]): Basis => ({ kind: 'source', refs, note })
