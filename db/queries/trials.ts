import { and, desc, eq } from 'drizzle-orm'
import type { TrialChange } from '../../api/protocol/trial/change.ts'
import type { Result } from '../../api/result.ts'
import type { Temporal } from '../../api/time.ts'
import type { TrialUndoJson } from '../json.ts'
import { trial } from '../schema.ts'
import type { Db } from '../types.ts'
import { overVersion } from './version.ts'

export type StoredTrial = typeof trial.$inferSelect

const MOST_LISTED = 100

/** Newest first. */
export const listTrials = (db: Db, cellarId: string): Promise<StoredTrial[]> =>
  db
    .select()
    .from(trial)
    .where(eq(trial.cellarId, cellarId))
    .orderBy(desc(trial.createdAt), desc(trial.id))
    .limit(MOST_LISTED)

export async function findTrial(db: Db, cellarId: string, id: string): Promise<StoredTrial | undefined> {
  const [row] = await db
    .select()
    .from(trial)
    .where(and(eq(trial.cellarId, cellarId), eq(trial.id, id)))
  return row
}

/** A trial whose id is stored already is left as it is: the request was sent twice. */
export async function addTrial(
  db: Db,
  cellarId: string,
  row: {
    readonly id: string
    readonly name: string
    readonly changes: readonly TrialChange[]
    readonly createdAt: Temporal.Instant
    readonly createdBy: string
  },
): Promise<void> {
  await db
    .insert(trial)
    .values({ cellarId, state: 'open', ...row, changes: [...row.changes] })
    .onConflictDoNothing()
}

/** Adopted, dropped or undone, over the version that was read. */
export async function decideTrial(
  db: Db,
  cellarId: string,
  id: string,
  version: number,
  decided: {
    readonly state: 'adopted' | 'dropped' | 'undone'
    readonly decidedAt: Temporal.Instant
    readonly decidedBy: string
    readonly undo?: readonly TrialUndoJson[]
  },
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(trial.cellarId, cellarId), eq(trial.id, id))
  const { undo, ...rest } = decided
  return overVersion(
    db
      .update(trial)
      .set({ ...rest, ...(undo ? { undo: [...undo] } : {}), version: version + 1 })
      .where(and(key, eq(trial.version, version)))
      .returning({ version: trial.version }),
    () => db.select({ id: trial.id }).from(trial).where(key),
  )
}
