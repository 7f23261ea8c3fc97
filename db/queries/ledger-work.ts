import { sql } from 'drizzle-orm'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'

/** A task that was done and stands. */
export interface WorkDone {
  readonly at: Temporal.Instant
  readonly step: string
  readonly lotId: string | null
  /** Vessels told with the tick; empty: none were. */
  readonly told: readonly string[]
  /** Vessels the plan named. */
  readonly planned: readonly string[]
}

interface WorkRaw {
  at_ms: number
  step: string
  lot_id: string | null
  told: string[] | null
  planned: string[]
}

/** Work of these kinds that was done at a moment or later, in order of time. */
export async function listWorkDone(
  db: Db,
  cellarId: string,
  steps: readonly string[],
  fromAt?: Temporal.Instant,
): Promise<WorkDone[]> {
  const since = fromAt ? sql`and f.at >= ${fromAt.toString()}::timestamptz` : sql``
  const rows = await ask<WorkRaw>(
    db,
    sql`select ${ms(sql`f.at`)} as at_ms, t.step, t.lot_id, f.vessels as told,
               (t.rest->'toVessels') || (t.rest->'fromVessels') as planned
        from task_fact f join task t on t.cellar_id = f.cellar_id and t.key = f.task_key
        where f.cellar_id = ${cellarId} and f.kind = 'done' ${since}
          and t.step in (select jsonb_array_elements_text(${JSON.stringify(steps)}::jsonb))
          and not exists (select 1 from task_fact u where u.cellar_id = f.cellar_id and u.undoes_id = f.id)
        order by f.at, f.id`,
  )
  return rows.map((r) => ({
    at: Temporal.Instant.fromEpochMilliseconds(r.at_ms),
    step: r.step,
    lotId: r.lot_id,
    told: r.told ?? [],
    planned: r.planned,
  }))
}
