/** Litres that somebody dipped beside those of the book, and the differences that were written down. */
import { sql } from 'drizzle-orm'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'

/** A moment of a vessel's page, and the filling it belongs to: what it has held since it was last empty. */
interface OnPage {
  readonly movementId: string
  readonly vesselId: string
  readonly atMs: number
  readonly entry: number
  /** By the movement it began with. */
  readonly filling: string
}

/** A dip told with a movement that stands, beside what the page has there. Millilitres. */
export interface Dipped extends OnPage {
  readonly measuredMl: number
  readonly bookMl: number
}

/** What was written down as found or gone, with its reason. Millilitres, below zero where wine went. */
export interface Difference extends OnPage {
  readonly differenceMl: number
  readonly reason: string
}

/** A book that came from elsewhere may have thousands; nobody reads them all. */
const MOST_DIPPED = 2_000
const MOST_DIFFERENCES = 10_000

const filling = sql`${ms(sql`l.since_at`)} || ' ' || l.since_entry`

/** Dips that are off the book by more than a share of it: before the movement in its source, after it in its target. */
export async function listDipped(db: Db, cellarId: string, offShare: number): Promise<Dipped[]> {
  return ask<Dipped>(
    db,
    sql`select d.id as "movementId", d.vessel_id as "vesselId", d.measured_ml as "measuredMl", d.book_ml as "bookMl",
          ${ms(sql`d.at`)} as "atMs", d.entry, d.filling
        from (
          select m.at, m.entry, m.id, l.vessel_id, m.measured_before_ml as measured_ml, l.before_ml as book_ml,
            ${filling} as filling
          from movement m join level l on l.cellar_id = m.cellar_id and l.vessel_id = m.from_vessel_id
            and l.at = m.at and l.entry = m.entry
          where m.cellar_id = ${cellarId} and m.measured_before_ml is not null
          union all
          select m.at, m.entry, m.id, l.vessel_id, m.measured_after_ml, l.after_ml, ${filling}
          from movement m join level l on l.cellar_id = m.cellar_id and l.vessel_id = m.to_vessel_id
            and l.at = m.at and l.entry = m.entry
          where m.cellar_id = ${cellarId} and m.measured_after_ml is not null) d
        where abs(d.measured_ml - d.book_ml) > ${offShare}::float8 * d.book_ml
        order by d.at, d.entry, d.vessel_id limit ${MOST_DIPPED}`,
  )
}

/**
 * Gains and losses of these vessels that stand and say why, the earliest first. What work leaves behind (lees, the
 * filter, the hose) was in the vessel when it was dipped, and explains nothing.
 */
export async function listDifferences(
  db: Db,
  cellarId: string,
  vesselIds: readonly string[],
): Promise<readonly Difference[]> {
  if (vesselIds.length === 0) return []
  const latest = await ask<Difference>(
    db,
    sql`select movement.id as "movementId", l.vessel_id as "vesselId", ${ms(sql`l.at`)} as "atMs", l.entry,
          ${filling} as filling, (l.after_ml - l.before_ml) as "differenceMl", btrim(movement.reason) as reason
        from movement join level l on l.cellar_id = movement.cellar_id and l.at = movement.at and l.entry = movement.entry
          and l.vessel_id = coalesce(movement.to_vessel_id, movement.from_vessel_id)
        where movement.cellar_id = ${cellarId} and l.vessel_id = any(array(select jsonb_array_elements_text(${JSON.stringify(vesselIds)}::jsonb)))
          and (movement.from_kind = 'gain' or (movement.to_kind = 'loss' and movement.cause not in ('lees', 'filter', 'pump and hose')))
          and btrim(coalesce(movement.reason, ''), E' \\t\\r\\n') <> ''
        order by l.at desc, l.entry desc, l.vessel_id desc limit ${MOST_DIFFERENCES}`,
  )
  return latest.reverse()
}
