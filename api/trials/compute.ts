/** A trial's plan: computed on a copy of the facts, set beside the plan people know. Nothing is stored, nobody is told. */
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listAllTasks } from '../../db/queries/seen-tasks.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import type { StoredTrial } from '../../db/queries/trials.ts'
import type { Db } from '../../db/types.ts'
import type { Facts } from '../protocol/facts.ts'
import { withoutInherited } from '../protocol/inherited.ts'
import { withChanges } from '../protocol/trial/apply.ts'
import { type Compared, type ComparedGround, type ComparedPlan, compare } from '../protocol/trial/compare.ts'
import type { CellarPlan } from '../protocol/types.ts'
import { type By, tryPlan } from '../replan.ts'
import { Temporal } from '../time.ts'

export interface Computed {
  readonly facts: Facts
  readonly plan: CellarPlan
  readonly stored: readonly StoredTask[]
  readonly numbers: Compared
  readonly plannedOn: { readonly revision: number; readonly plannedAt: Temporal.Instant }
}

/** Ids of what a trial would add: the same every time it is looked at. */
export const trialId = (trial: Pick<StoredTrial, 'id'>, index: number): string => `${trial.id}.${index + 1}`

export async function computeTrial(
  db: Db,
  cellarId: string,
  trial: Pick<StoredTrial, 'id' | 'changes'>,
  nowAt: Temporal.Instant,
  by?: By,
): Promise<Computed> {
  let known: { readonly real: Facts; readonly tried: Facts } | undefined
  const change = (real: Facts) => {
    const tried = withChanges(real, trial.changes, nowAt, (i) => trialId(trial, i))
    known = { real, tried }
    return tried
  }
  const whole = await tryPlan(db, cellarId, nowAt, change, by)
  if (!known) throw new Error('the planner did not ask for the changed facts')
  // What a lot has from its parent is no work of its own, as in the plan that is stored.
  const plan = withoutInherited(whole, known.tried)
  const stored = await listAllTasks(db, cellarId)
  const real = await findPlan(db, cellarId)
  const before: ComparedPlan = {
    tasks: stored.map((t) => ({
      ...t,
      grain: t.rest.grain ?? 'minute',
      crewMin: t.rest.crewMin,
      machines: t.rest.machines,
    })),
    phases: await listPhases(db, cellarId),
    broken: real.broken,
    forecasts: real.forecasts,
    dryAt: new Map(
      real.forecasts.flatMap((f) => (f.dryAt ? [[f.lotId, Temporal.Instant.from(f.dryAt.likelyAt)] as const] : [])),
    ),
  }
  const after: ComparedPlan = {
    ...plan,
    dryAt: new Map(plan.forecasts.flatMap((f) => (f.dryAt ? [[f.lotId, f.dryAt.likelyAt] as const] : []))),
  }
  // Who stays longer works over the hours that are theirs without the trial.
  const grounds = { before: groundOf(known.real), after: groundOf({ ...known.tried, people: known.real.people }) }
  return {
    facts: known.tried,
    plan,
    stored,
    numbers: compare(before, after, grounds, nowAt),
    plannedOn: { revision: real.revision, plannedAt: real.plannedAt },
  }
}

const groundOf = (facts: Facts): ComparedGround => ({
  ...facts,
  zone: facts.cellar.zone,
  presses: facts.machines.filter((m) => m.kind === 'press' || m.kind === 'basket-press'),
})
