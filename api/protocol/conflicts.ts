import { CELLAR_CONFLICTS } from './conflicts/cellar.ts'
import { FINISH_CONFLICTS } from './conflicts/finish.ts'
import { JUICE_CONFLICTS } from './conflicts/juice.ts'
import { LEES_OAK_CONFLICTS } from './conflicts/lees-oak.ts'
import { MALOLACTIC_CONFLICTS } from './conflicts/malolactic.ts'
import { SENSE_RULES } from './conflicts/sense.ts'
import { THUMB_RULES } from './conflicts/thumb.ts'
import { YEAST_CONFLICTS } from './conflicts/yeast.ts'
import type { ConflictContext, ConflictRule } from './types.ts'

/** All that can stand against a protocol: the table K01 to K40, answers that do not go together (H), hints of the trade (R). */
export const CONFLICTS: readonly ConflictRule[] = [
  MALOLACTIC_CONFLICTS,
  YEAST_CONFLICTS,
  JUICE_CONFLICTS,
  LEES_OAK_CONFLICTS,
  FINISH_CONFLICTS,
  CELLAR_CONFLICTS,
  SENSE_RULES,
  THUMB_RULES,
]
  .flat()
  .sort((a, b) => (a.id < b.id ? -1 : 1))

const WEIGHT = { block: 0, warn: 1, info: 2 } as const

/** Conflicts that hold now, the gravest first. Asked again with every reading, not only when the protocol is written. */
export function findConflicts(context: ConflictContext): readonly ConflictRule[] {
  return CONFLICTS.filter((rule) => rule.test(context)).sort((a, b) => WEIGHT[a.level] - WEIGHT[b.level])
}

/** Those that keep a protocol from being saved: blocks without a reason a winemaker signed. */
export function blocking(
  found: readonly ConflictRule[],
  signed: readonly { readonly conflict: string; readonly reason: string }[],
): readonly ConflictRule[] {
  const reasoned = new Set(signed.filter((entry) => entry.reason.trim() !== '').map((entry) => entry.conflict))
  return found.filter((rule) => rule.level === 'block' && !reasoned.has(rule.id))
}

/** @throws RangeError for an id that is no conflict (a bug in the caller) */
export function conflictOf(id: string): ConflictRule {
  const rule = CONFLICTS.find((entry) => entry.id === id)
  if (!rule) throw new RangeError(`conflict must be K01 to K40 or a hint, got ${id}`)
  return rule
}
