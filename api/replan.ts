import { loadPlanFacts } from '../db/queries/facts.ts'
import { lockPlan, tell } from '../db/queries/locks.ts'
import { savePlan } from '../db/queries/plans.ts'
import { listTasks, type StoredTask } from '../db/queries/tasks.ts'
import type { Db } from '../db/types.ts'
import { besideOf, knownPlan } from './beside.ts'
import { CHANNEL, type Change } from './changes.ts'
import { newId } from './ids.ts'
import { type PlanOptions, planCellar } from './plan.ts'
import { guarded, keepProposal } from './proposals.ts'
import type { Facts } from './protocol/facts.ts'
import { endedBecause, withoutInherited } from './protocol/inherited.ts'
import type { Because } from './protocol/moved.ts'
import type { CellarPlan } from './protocol/types.ts'
import { Temporal } from './time.ts'
import { withoutUndone } from './undone.ts'

export interface Replanned {
  /** Keys of tasks that are new, moved or cancelled. */
  readonly changed: readonly string[]
  readonly revision: number
  readonly change: Change
}

/**
 * The one way a plan comes about: facts are read, planned and stored under the cellar's lock, and the other servers
 * are told. The facts must be committed before: a planner that fails must not take them along.
 */
export function replan(db: Db, cellarId: string, nowAt: Temporal.Instant, because?: Because): Promise<Replanned> {
  return db.transaction(async (tx) => {
    await lockPlan(tx, cellarId)
    const facts = await loadPlanFacts(tx, cellarId)
    if (!facts) throw new Error(`no cellar ${cellarId} to plan`)
    const stored = await listTasks(tx, cellarId)
    const planOf = (of: Facts) => planCellar(withoutUndone(of), { nowAt, ...knownPlanOf(stored) })
    const free = planOf(facts)
    const before = await knownPlan(tx, cellarId, stored)
    const { plan, moves } = guarded({ facts, stored, free, nowAt, because }, planOf)
    const beside = besideOf(before, plan, facts, nowAt, because)
    const own = withoutInherited(plan, facts)
    const saved = await savePlan(tx, cellarId, own, nowAt, (key) => endedBecause(facts, key) ?? NO_LONGER, beside)
    await keepProposal(tx, cellarId, { before, free, moves, because, zone: facts.cellar.zone, nowAt })
    const change = { cellarId, revision: saved.revision, id: newId(nowAt.epochMilliseconds) }
    await tell(tx, CHANNEL, JSON.stringify(change))
    return { changed: [...saved.changed, ...saved.cancelled], revision: saved.revision, change }
  })
}

/**
 * The plan as it would be if the facts were others. Nothing is stored, nobody is told.
 *
 * @param change makes the other facts; the given ones stay as they are
 */
export async function tryPlan(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  change: (facts: Facts) => Facts,
): Promise<CellarPlan> {
  const facts = await loadPlanFacts(db, cellarId)
  if (!facts) throw new Error(`no cellar ${cellarId} to plan`)
  return planCellar(withoutUndone(change(facts)), { nowAt, ...knownPlanOf(await listTasks(db, cellarId)) })
}

const NO_LONGER = 'The plan no longer needs it.'

/** The plan people know. None yet: the planner makes a first one for itself. */
export function knownPlanOf(stored: readonly StoredTask[]): Pick<PlanOptions, 'previous'> {
  const open = stored.filter((t) => t.state !== 'cancelled')
  return open.length === 0
    ? {}
    : {
        previous: open.map((t) => ({
          ...t,
          machines: t.rest.machines,
          earliestAt: Temporal.Instant.from(t.rest.earliestAt),
          latestAt: Temporal.Instant.from(t.rest.latestAt),
        })),
      }
}
