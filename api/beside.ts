/** Gathers what stored tasks keep beside their plan: the cause of their last move, and doses not looked at since they changed. */
import { findPlan, listPhases } from '../db/queries/plans.ts'
import type { StoredTask } from '../db/queries/tasks.ts'
import type { Db } from '../db/types.ts'
import { type Beside, doseWas } from './protocol/beside.ts'
import type { Facts } from './protocol/facts.ts'
import { type Because, type Known, movedBecause } from './protocol/moved.ts'
import type { CellarPlan, TaskPlan } from './protocol/types.ts'
import { Temporal } from './time.ts'

export interface KnownPlan extends Known {
  readonly stored: ReadonlyMap<string, StoredTask>
}

/** The plan as people know it, before the new one is stored. */
export async function knownPlan(db: Db, cellarId: string, stored: readonly StoredTask[]): Promise<KnownPlan> {
  const { forecasts } = await findPlan(db, cellarId)
  const phases = await listPhases(db, cellarId)
  const byKey = new Map(stored.map((t) => [t.key, t]))
  return {
    stored: byKey,
    tasks: new Map(stored.map((t) => [t.key, { startAt: t.startAt, state: t.state, grain: t.rest.grain ?? 'minute' }])),
    dryAt: new Map(
      forecasts.flatMap((f) => (f.dryAt ? [[f.lotId, Temporal.Instant.from(f.dryAt.likelyAt)] as const] : [])),
    ),
    malicGoneAt: new Map(phases.filter((p) => p.kind === 'malolactic').map((p) => [p.lotId, p.endAt])),
  }
}

/** For each task of the new plan what its row is to keep. */
export function besideOf(
  known: KnownPlan,
  plan: CellarPlan,
  facts: Facts,
  nowAt: Temporal.Instant,
  because?: Because,
): (t: TaskPlan) => Beside {
  const moved = movedBecause(known, plan, facts.cellar.zone, nowAt, because)
  const looked = new Map<string, string>()
  for (const f of facts.taskFacts) if (f.kind === 'acknowledge') looked.set(f.taskKey, f.at.toString())
  return (t) => {
    const old = known.stored.get(t.key)?.rest
    const change = moved.get(t.key) ?? old?.change
    const isOver = t.state === 'done' || t.state === 'skipped'
    const was = old && !isOver ? doseWas(old, t.doses, looked.get(t.key), nowAt.toString()) : undefined
    return { ...(change ? { change } : {}), ...(was ? { doseWas: was } : {}) }
  }
}
