/** Answers tried out: the plan they would give, what stands against them, and who accepted that. */
import type { Db } from '../db/types.ts'
import type { Facts, Lot } from './protocol/facts.ts'
import type { CellarPlan, ConflictFound } from './protocol/types.ts'
import { type By, tryPlan } from './replan.ts'
import type { Temporal } from './time.ts'

export interface Signature {
  readonly conflict: string
  readonly reason: string
}

export interface Trial {
  readonly plan: CellarPlan
  readonly conflicts: readonly ConflictFound[]
}

/** The cellar's plan with this lot in place of the one with the same id, or beside the others. */
export async function trialOf(db: Db, cellarId: string, lot: Lot, nowAt: Temporal.Instant, by?: By): Promise<Trial> {
  const plan = await tryPlan(db, cellarId, nowAt, (facts) => withLot(facts, lot), by)
  return { plan, conflicts: plan.conflicts.filter((f) => f.lotId === lot.id) }
}

const withLot = (facts: Facts, lot: Lot): Facts => ({
  ...facts,
  lots: facts.lots.some((l) => l.id === lot.id)
    ? facts.lots.map((l) => (l.id === lot.id ? lot : l))
    : [...facts.lots, lot],
})

/** Those signed before and still needed, and the new ones; a new reason replaces an old one. */
export function signatures(
  before: Lot['signed'],
  given: readonly Signature[],
  found: readonly ConflictFound[],
  by: { readonly personId: string; readonly at: Temporal.Instant },
): Lot['signed'] {
  const needed = new Set(found.map((f) => f.id))
  const fresh = given.filter((s) => needed.has(s.conflict)).map((s) => ({ ...s, ...by }))
  const again = new Set(fresh.map((s) => s.conflict))
  return [...before.filter((s) => needed.has(s.conflict) && !again.has(s.conflict)), ...fresh]
}

/** Conflicts that keep the answers from being saved. */
export function blockingOf(found: readonly ConflictFound[], signed: readonly Signature[]): readonly ConflictFound[] {
  const reasoned = new Set(signed.filter((s) => s.reason.trim() !== '').map((s) => s.conflict))
  return found.filter((f) => f.level === 'block' && !reasoned.has(f.id))
}

/** Moments a winemaker asks for first. Checks and washing are left out. */
const QUIET_FAMILIES = new Set(['check'])

/** First of each kind of work of a lot, by date. */
export function mainDates(plan: CellarPlan, lotId: string) {
  const seen = new Set<string>()
  return plan.tasks
    .filter((t) => t.lotId === lotId && t.state !== 'cancelled' && !QUIET_FAMILIES.has(t.family))
    .toSorted((a, b) => a.startAt.epochMilliseconds - b.startAt.epochMilliseconds)
    .filter((t) => !seen.has(t.step) && seen.add(t.step) !== undefined)
    .map((t) => ({ step: t.step, name: t.name, at: t.startAt.toString(), forecast: t.forecast }))
}
