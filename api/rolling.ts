/** The plan follows the clock: made anew each hour and each night, once, however many servers watch. */
import { listCellars } from '../db/queries/cellars.ts'
import { findPlanRevision } from '../db/queries/plans.ts'
import type { Db } from '../db/types.ts'
import type { Change } from './changes.ts'
import type { Planner } from './planning.ts'
import type { Because } from './protocol/moved.ts'
import { replanIf } from './replan.ts'
import { dayOf, Temporal, wallTimeAt } from './time.ts'

/** A plan older than this is made anew: what is due and what is late has changed. */
const HOUR_MS = 3_600_000
/** By then the late shift is home and the first one sleeps; the list of the new day is ready when it comes. */
const NIGHT_MIN = 2 * 60

const CLOCK: Because = { words: 'time went on', asks: true }

/** Whether the clock asks for a new plan: an hour has gone by, or a night. */
export function isDue(plannedAt: Temporal.Instant, nowAt: Temporal.Instant, zone: string): boolean {
  if (nowAt.epochMilliseconds - plannedAt.epochMilliseconds >= HOUR_MS) return true
  const nightAt = wallTimeAt(dayOf(nowAt, zone), NIGHT_MIN, zone)
  return Temporal.Instant.compare(plannedAt, nightAt) < 0 && Temporal.Instant.compare(nightAt, nowAt) <= 0
}

/**
 * Plans anew every cellar whose plan is due. Looked at again under the cellar's lock: of two servers at the same
 * moment one stores its plan, the other finds it done. A cellar that cannot be planned keeps no other from its plan.
 *
 * @param failed hears of each cellar that could not be planned
 * @returns the changes to tell, one a cellar that was planned here
 */
export async function rollOn(
  db: Db,
  nowAt: Temporal.Instant,
  failed: (cellarId: string, error: unknown) => void,
  planner?: Planner,
): Promise<readonly Change[]> {
  const changes: Change[] = []
  for (const cellar of await listCellars(db)) {
    const isOld = async (on: Db) => {
      const plan = await findPlanRevision(on, cellar.id)
      return !plan || isDue(plan.plannedAt, nowAt, cellar.zone)
    }
    try {
      if (!(await isOld(db))) continue
      const done = await replanIf(db, cellar.id, nowAt, isOld, CLOCK, planner)
      if (done) changes.push(done.change)
    } catch (error) {
      failed(cellar.id, error)
    }
  }
  return changes
}
