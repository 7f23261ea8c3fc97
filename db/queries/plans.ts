import { and, asc, eq, exists, gt, gte, inArray, isNull, lt, or } from 'drizzle-orm'
import type { CellarPlan, Phase } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import type { ForecastJson, PlanStateJson } from '../json.ts'
import { cellar, lot, phase, planState } from '../schema.ts'
import type { Db } from '../types.ts'
import { type SavedTasks, type Saving, saveTasks } from './save-tasks.ts'

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
  saving: Saving = {},
): Promise<SavedTasks & { readonly revision: number }> {
  const saved = await saveTasks(db, cellarId, plan.tasks, at, saving)
  await savePhases(db, cellarId, plan)
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

/** Writes the bands that are others than before. Those of lots that ended in an earlier vintage are no part of the plan and stay. */
async function savePhases(db: Db, cellarId: string, plan: CellarPlan): Promise<void> {
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
  const stored = await db
    .select()
    .from(phase)
    .where(and(eq(phase.cellarId, cellarId), exists(planned(db))))
  const before = new Map(stored.map((row) => [row.key, contentOf(row)]))
  const stands = new Set(rows.filter((row) => before.get(row.key) === contentOf(row)).map((row) => row.key))
  const others = rows.filter((row) => !stands.has(row.key))
  const gone = [...before.keys()].filter((key) => !stands.has(key))
  for (let i = 0; i < gone.length; i += CHUNK)
    await db.delete(phase).where(and(eq(phase.cellarId, cellarId), inArray(phase.key, gone.slice(i, i + CHUNK))))
  for (let i = 0; i < others.length; i += CHUNK) await db.insert(phase).values(others.slice(i, i + CHUNK))
}

const contentOf = (p: typeof phase.$inferInsert): string =>
  JSON.stringify([
    p.lotId,
    p.lotCode,
    p.kind,
    p.vessels,
    p.volumeL,
    ...[p.startAt, p.endAt, p.endEarliestAt, p.endLatestAt].map((at) => at?.epochMilliseconds ?? null),
    p.ratePerDay,
    p.tempC,
  ])

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
