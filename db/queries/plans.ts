import { and, asc, eq, exists, gt, gte, isNull, lt, or } from 'drizzle-orm'
import type { Beside } from '../../api/protocol/beside.ts'
import type { CellarPlan, Phase, TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import type { ForecastJson, PlanStateJson } from '../json.ts'
import { cellar, lot, phase, planState } from '../schema.ts'
import type { Db } from '../types.ts'
import { type SavedTasks, saveTasks } from './save-tasks.ts'

export interface StoredPlan extends PlanStateJson {
  readonly revision: number
  readonly plannedAt: Temporal.Instant
}

const CHUNK = 1_000

const forecastJson = (f: CellarPlan['forecasts'][number]): ForecastJson => ({
  lotId: f.lotId,
  ...(f.dryAt
    ? {
        dryAt: {
          earliestAt: f.dryAt.earliestAt.toString(),
          likelyAt: f.dryAt.likelyAt.toString(),
          latestAt: f.dryAt.latestAt.toString(),
        },
      }
    : {}),
  points: f.points.map((p) => ({ ...p, at: p.at.toString() })),
  ...(f.watch ? { watch: f.watch } : {}),
})

/**
 * Stores a whole plan: tasks, bands, forecasts, what is broken. Call inside a transaction, after `lockPlan`.
 *
 * @returns what changed, and the plan's revision, which rises only when a task's did
 */
export async function savePlan(
  db: Db,
  cellarId: string,
  plan: CellarPlan,
  at: Temporal.Instant,
  reasonFor?: (key: string) => string,
  beside?: (t: TaskPlan) => Beside,
): Promise<SavedTasks & { readonly revision: number }> {
  const saved = await saveTasks(db, cellarId, plan.tasks, at, reasonFor, beside)
  // Bands of lots that ended in an earlier vintage are no part of the plan and stay.
  await db.delete(phase).where(and(eq(phase.cellarId, cellarId), exists(planned(db))))
  const rows = plan.phases.map((p) => ({
    cellarId,
    key: p.key,
    lotId: p.lotId,
    lotCode: p.lotCode,
    kind: p.kind,
    vessels: [...p.vessels],
    volumeL: p.volumeL,
    startAt: p.startAt,
    endAt: p.endAt,
    endEarliestAt: p.endSpread?.earliestAt ?? null,
    endLatestAt: p.endSpread?.latestAt ?? null,
    ratePerDay: [...p.ratePerDay],
    tempC: p.tempC,
  }))
  for (let i = 0; i < rows.length; i += CHUNK) await db.insert(phase).values(rows.slice(i, i + CHUNK))
  const state: PlanStateJson = {
    broken: plan.broken,
    conflicts: plan.conflicts,
    forecasts: plan.forecasts.map(forecastJson),
  }
  const rose = saved.changed.length + saved.cancelled.length > 0 ? 1 : 0
  const [old] = await db
    .select({ revision: planState.revision })
    .from(planState)
    .where(eq(planState.cellarId, cellarId))
  const revision = (old?.revision ?? 0) + rose
  await db
    .insert(planState)
    .values({ cellarId, revision, plannedAt: at, state })
    .onConflictDoUpdate({ target: planState.cellarId, set: { revision, plannedAt: at, state } })
  return { ...saved, revision }
}

const planned = (db: Db) =>
  db
    .select({ id: lot.id })
    .from(lot)
    .innerJoin(cellar, eq(cellar.id, lot.cellarId))
    .where(
      and(
        eq(lot.cellarId, phase.cellarId),
        eq(lot.id, phase.lotId),
        or(isNull(lot.endedAt), gte(lot.vintage, cellar.vintage)),
      ),
    )

export async function findPlan(db: Db, cellarId: string): Promise<StoredPlan> {
  const [row] = await db.select().from(planState).where(eq(planState.cellarId, cellarId))
  if (!row)
    return {
      revision: 0,
      plannedAt: Temporal.Instant.fromEpochMilliseconds(0),
      broken: [],
      conflicts: [],
      forecasts: [],
    }
  return { revision: row.revision, plannedAt: row.plannedAt, ...row.state }
}

/** The revision alone: what a feed needs to answer that nothing changed. */
export async function findPlanRevision(
  db: Db,
  cellarId: string,
): Promise<{ revision: number; plannedAt: Temporal.Instant } | undefined> {
  const [row] = await db
    .select({ revision: planState.revision, plannedAt: planState.plannedAt })
    .from(planState)
    .where(eq(planState.cellarId, cellarId))
  return row
}

export async function listPhases(
  db: Db,
  cellarId: string,
  { fromAt, toAt, lotId }: { fromAt?: Temporal.Instant; toAt?: Temporal.Instant; lotId?: string } = {},
): Promise<Phase[]> {
  const rows = await db
    .select()
    .from(phase)
    .where(
      and(
        eq(phase.cellarId, cellarId),
        toAt && lt(phase.startAt, toAt),
        fromAt && gt(phase.endAt, fromAt),
        lotId === undefined ? undefined : eq(phase.lotId, lotId),
      ),
    )
    .orderBy(asc(phase.startAt), asc(phase.key))
  return rows.map(({ cellarId: _, endEarliestAt, endLatestAt, ...p }) => ({
    ...p,
    ...(endEarliestAt && endLatestAt ? { endSpread: { earliestAt: endEarliestAt, latestAt: endLatestAt } } : {}),
  }))
}
