import { type Kept, scheduleNext } from './schedule.ts'
import type { BrokenRule, Plan, Problem } from './types.ts'

/** A limit that people set and people may let go. */
export type Limit =
  | { readonly kind: 'pin' | 'due' | 'window'; readonly task: string }
  | { readonly kind: 'longest-lag'; readonly task: string; readonly next: string }
  | { readonly kind: 'vessel'; readonly hold: string }
  | { readonly kind: 'booking'; readonly unit: string; readonly at: number }

export interface Conflict {
  readonly rule: BrokenRule
  /** Limits that cannot all be kept: without any one of them a plan was found. Empty: hands and machines alone are short. */
  readonly limits: readonly Limit[]
  /** What letting go of one of them costs in the whole plan, the cheapest first. */
  readonly waysOut: readonly { readonly letGo: Limit; readonly hardBroken: number; readonly softBroken: number }[]
  /** False: no plan was found even without all of the limits near by. That is not a proof that there is none. */
  readonly freed: boolean
  readonly schedulesUsed: number
}

const NEAR_MIN = 2 * 1440

/**
 * The smallest set of limits behind a broken rule, by deletion filtering: each limit is let go for good if the trouble
 * stays without it; those that must stay for the trouble to stay are its conflict.
 */
export function conflictOf(problem: Problem, plan: Plan, rule: BrokenRule, most = 40): Conflict {
  let schedulesUsed = 0
  // One session goes from each to the next: they differ in a few limits, and the plan is the same as from scratch.
  const kept: Kept = {}
  const retry = (without: readonly Limit[]): Plan => {
    schedulesUsed++
    return scheduleNext(kept, { ...freedFrom(problem, without), moves: 1 }, undefined, true)
  }
  const limits = limitsNear(problem, plan, rule).slice(0, most)
  const all = limits.length > 0 && !touches(retry(limits), rule)
  if (!all) return { rule, limits: [], waysOut: [], freed: false, schedulesUsed }
  let conflict: readonly Limit[] = limits
  let gone: readonly Limit[] = []
  for (const limit of limits) {
    if (!touches(retry([...gone, limit]), rule)) continue
    gone = [...gone, limit]
    conflict = conflict.filter((c) => c !== limit)
  }
  const waysOut = conflict
    .map((letGo) => ({ letGo, found: retry([letGo]) }))
    .filter(({ found }) => !touches(found, rule))
    .map(({ letGo, found }) => ({
      letGo,
      hardBroken: found.broken.filter((b) => b.strength === 'hard').length,
      softBroken: found.broken.filter((b) => b.strength === 'soft').length,
    }))
    .sort((a, b) => a.hardBroken - b.hardBroken || a.softBroken - b.softBroken)
  return { rule, limits: conflict, waysOut, freed: true, schedulesUsed }
}

/** Whether a hard rule is still broken at one of the tasks. */
function touches(plan: Plan, rule: BrokenRule): boolean {
  return plan.broken.some((b) => b.strength === 'hard' && b.tasks.some((key) => rule.tasks.includes(key)))
}

/** Limits on work of the same groups within two days of the trouble, its own first. */
function limitsNear(problem: Problem, plan: Plan, rule: BrokenRule): readonly Limit[] {
  const start = new Map(plan.placed.map((p) => [p.key, p.startMin]))
  const groups = new Set(problem.tasks.filter((t) => rule.tasks.includes(t.key)).map((t) => t.group))
  const gap = (key: string) => Math.min(...rule.tasks.map((r) => Math.abs((start.get(r) ?? 0) - (start.get(key) ?? 0))))
  const near = new Set(problem.tasks.filter((t) => groups.has(t.group) && gap(t.key) <= NEAR_MIN).map((t) => t.key))
  const rival = (key: string) => rule.tasks.includes(key) || near.has(key)
  const found: { readonly limit: Limit; readonly gapMin: number }[] = []
  for (const t of problem.tasks) {
    if (!rival(t.key) || t.done || t.started) continue
    const add = (kind: 'pin' | 'due' | 'window') => found.push({ limit: { kind, task: t.key }, gapMin: gap(t.key) })
    if (t.pin) add('pin')
    if (t.dueMin !== undefined && t.dueStrength !== 'soft') add('due')
    if (t.startCalendar !== undefined) add('window')
  }
  for (const l of problem.links)
    if (l.strength === 'hard' && l.maxLagMin !== undefined && rival(l.prev) && rival(l.next))
      found.push({
        limit: { kind: 'longest-lag', task: l.prev, next: l.next },
        gapMin: Math.min(gap(l.prev), gap(l.next)),
      })
  for (const h of problem.holds)
    if (h.units && (rival(h.from.task) || rival(h.to.task)))
      found.push({ limit: { kind: 'vessel', hold: h.key }, gapMin: gap(h.from.task) })
  for (const u of problem.units)
    u.booked?.forEach((b, at) => {
      if (rule.ref === u.id) found.push({ limit: { kind: 'booking', unit: u.id, at }, gapMin: b.fromMin })
    })
  return found.sort((a, b) => a.gapMin - b.gapMin).map((f) => f.limit)
}

/** The problem as it would be without these limits. */
function freedFrom(problem: Problem, without: readonly Limit[]): Problem {
  const lost = (kind: Limit['kind'], name: string) => without.some((l) => l.kind === kind && nameOf(l) === name)
  return {
    ...problem,
    tasks: problem.tasks.map((t) => ({
      ...t,
      pin: lost('pin', t.key) ? undefined : t.pin,
      dueMin: lost('due', t.key) ? undefined : t.dueMin,
      startCalendar: lost('window', t.key) ? undefined : t.startCalendar,
    })),
    links: problem.links.map((l) => (lost('longest-lag', `${l.prev} ${l.next}`) ? { ...l, maxLagMin: undefined } : l)),
    holds: problem.holds.map((h) => (lost('vessel', h.key) ? { ...h, units: undefined } : h)),
    units: problem.units.map((u) => ({ ...u, booked: u.booked?.filter((_, at) => !lost('booking', `${u.id} ${at}`)) })),
  }
}

function nameOf(l: Limit): string {
  if (l.kind === 'longest-lag') return `${l.task} ${l.next}`
  if (l.kind === 'vessel') return l.hold
  return l.kind === 'booking' ? `${l.unit} ${l.at}` : l.task
}
