/** What flowed into vessels and out of them, looked up by the keys of their pages. */
import { sql } from 'drizzle-orm'
import type { Inflow } from '../../api/cellar/ledger/flow.ts'
import type { Outflow } from '../../api/cellar/ledger/forward.ts'
import type { Outside } from '../../api/cellar/ledger/movement.ts'
import { isoOf } from '../../api/time.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'

/** A place in the order of the ledger: everything up to and with it counts. */
export interface Position {
  readonly vesselId: string
  readonly atMs: number
  readonly entry: number
}

interface InflowRaw {
  id: string
  at_ms: number
  entry: number
  volume_ml: number
  to_vessel_id: string
  to_lot_id: string
  from_kind: 'vessel' | Outside
  from_vessel_id: string | null
  from_lot_id: string | null
  receipt_id: string | null
  cause: string
  before_ml: number
  after_ml: number
  before_lot_id: string | null
  since_ms: number
  since_entry: number
}

export type FilledBy = Inflow & { readonly sinceMs: number; readonly sinceEntry: number }

/**
 * What flowed into each vessel up to a place in the order, since it was last empty. `offset 0` holds the planner to
 * looking up by keys: it takes a range of a vessel's page for far more rows than it is, and reads both tables whole.
 */
export async function listInflows(db: Db, cellarId: string, places: readonly Position[]): Promise<FilledBy[]> {
  if (places.length === 0) return []
  const wanted = JSON.stringify(
    places.map((p) => ({
      v: p.vesselId,
      t: isoOf(p.atMs),
      e: p.entry,
    })),
  )
  const rows = await ask<InflowRaw>(
    db,
    sql`with asked as (
          select w.v, w.t, w.e from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz, e bigint)
        ), fill as (
          select distinct on (w.v, s.since_at, s.since_entry)
                 w.v, s.since_at, s.since_entry, s.at as until_at, s.entry as until_entry
          from asked w cross join lateral (
            select l.at, l.entry, l.since_at, l.since_entry from level l
            where l.cellar_id = ${cellarId} and l.vessel_id = w.v and (l.at, l.entry) <= (w.t, w.e)
            order by l.at desc, l.entry desc limit 1) s
          order by w.v, s.since_at, s.since_entry, s.at desc, s.entry desc
        )
        select m.id, ${ms(sql`m.at`)} as at_ms, m.entry::float8 as entry,
               m.volume_ml::float8 as volume_ml, m.to_vessel_id, m.to_lot_id, m.from_kind, m.from_vessel_id,
               m.from_lot_id, m.receipt_id, m.cause, l.before_ml::float8 as before_ml, l.after_ml::float8 as after_ml,
               l.before_lot_id, ${ms(sql`l.since_at`)} as since_ms,
               l.since_entry::float8 as since_entry
        from fill f cross join lateral (
          select l.* from level l where l.cellar_id = ${cellarId} and l.vessel_id = f.v
            and (l.at, l.entry) >= (f.since_at, f.since_entry) and (l.at, l.entry) <= (f.until_at, f.until_entry)
            and l.after_ml >= l.before_ml offset 0) l cross join lateral (
          select m.* from movement m
          where m.cellar_id = ${cellarId} and m.id = l.movement_id and m.to_vessel_id = f.v offset 0) m`,
  )
  return rows.map((r) => ({
    movementId: r.id,
    atMs: r.at_ms,
    entry: r.entry,
    volumeMl: r.volume_ml,
    toVesselId: r.to_vessel_id,
    toBeforeMl: r.before_ml,
    toAfterMl: r.after_ml,
    ...(r.before_lot_id === null ? {} : { toBeforeLotId: r.before_lot_id }),
    toLotId: r.to_lot_id,
    ...(r.from_vessel_id === null ? {} : { fromVesselId: r.from_vessel_id }),
    ...(r.from_lot_id === null ? {} : { fromLotId: r.from_lot_id }),
    ...(r.from_kind === 'vessel' ? {} : { fromOutside: r.from_kind }),
    ...(r.receipt_id === null ? {} : { receiptId: r.receipt_id }),
    cause: r.cause,
    sinceMs: r.since_ms,
    sinceEntry: r.since_entry,
  }))
}

/** Vessels that got wine of one of these since a moment, and when first. */
export async function listReached(
  db: Db,
  cellarId: string,
  from: readonly { readonly vesselId: string; readonly atMs: number }[],
): Promise<readonly { readonly vesselId: string; readonly atMs: number }[]> {
  if (from.length === 0) return []
  const wanted = JSON.stringify(from.map((f) => ({ v: f.vesselId, t: isoOf(f.atMs) })))
  const rows = await ask<{ vessel_id: string; at_ms: number }>(
    db,
    sql`select m.to_vessel_id as vessel_id, ${ms(sql`min(m.at)`)} as at_ms
        from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz) cross join lateral (
          select l.movement_id from level l where l.cellar_id = ${cellarId} and l.vessel_id = w.v and l.at >= w.t
            and l.after_ml < l.before_ml offset 0) l cross join lateral (
          select m.at, m.to_vessel_id from movement m
          where m.cellar_id = ${cellarId} and m.id = l.movement_id and m.to_vessel_id is not null offset 0) m
        group by m.to_vessel_id`,
  )
  return rows.map((r) => ({ vesselId: r.vessel_id, atMs: r.at_ms }))
}

/** What left a vessel, or became another lot in it, as its page shows it. */
export async function listOutflows(
  db: Db,
  cellarId: string,
  from: readonly { readonly vesselId: string; readonly atMs: number }[],
): Promise<Outflow[]> {
  if (from.length === 0) return []
  const wanted = JSON.stringify(from.map((f) => ({ v: f.vesselId, t: isoOf(f.atMs) })))
  const rows = await ask<OutflowRaw>(
    db,
    sql`select m.id, ${ms(sql`m.at`)} as at_ms, m.entry::float8 as entry,
               m.volume_ml::float8 as volume_ml, l.vessel_id, l.before_ml::float8 as before_ml, l.before_lot_id,
               l.after_lot_id, m.from_vessel_id, m.to_vessel_id, m.to_lot_id, m.to_kind, m.cause
        from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz) cross join lateral (
          select l.* from level l where l.cellar_id = ${cellarId} and l.vessel_id = w.v and l.at >= w.t
            and (l.after_ml < l.before_ml or l.before_lot_id <> l.after_lot_id) offset 0) l cross join lateral (
          select m.* from movement m where m.cellar_id = ${cellarId} and m.id = l.movement_id offset 0) m`,
  )
  return rows.map((r) => ({
    movementId: r.id,
    atMs: r.at_ms,
    entry: r.entry,
    cause: r.cause,
    vesselId: r.vessel_id,
    beforeMl: r.before_ml,
    beforeLotId: r.before_lot_id ?? '',
    ...(r.from_vessel_id === r.vessel_id && r.to_vessel_id !== r.vessel_id
      ? {
          volumeMl: r.volume_ml,
          ...(r.to_vessel_id === null
            ? { toOutside: r.to_kind as Outside }
            : { toVesselId: r.to_vessel_id, toLotId: r.to_lot_id ?? '' }),
        }
      : { volumeMl: 0, toLotId: r.after_lot_id ?? '' }),
  }))
}

interface OutflowRaw {
  id: string
  at_ms: number
  entry: number
  volume_ml: number
  vessel_id: string
  before_ml: number
  before_lot_id: string | null
  after_lot_id: string | null
  from_vessel_id: string | null
  to_vessel_id: string | null
  to_lot_id: string | null
  to_kind: string
  cause: string
}
