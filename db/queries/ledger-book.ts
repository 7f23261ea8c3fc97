import { sql } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import type { Db } from '../types.ts'
import { askRows } from './ask.ts'

/** One end of a movement, as a register tells it: thousands a month, so as plain words and numbers. */
export interface BookEnd {
  readonly isIn: boolean
  /** `2027-03-22T05:00:00Z` */
  readonly at: string
  readonly writtenAt: string
  readonly cause: string
  readonly people: readonly string[]
  readonly taskKey: string | null
  readonly reason: string | null
  readonly isBack: boolean
  readonly volumeMl: number
  readonly vesselId: string | null
  readonly lotId: string | null
  readonly otherKind: string
  readonly otherVesselId: string | null
  readonly otherLotId: string | null
  /** Of its vessel; absent where the entry was taken back, or takes one back. */
  readonly beforeMl: number | null
  readonly afterMl: number | null
}

interface EndRaw {
  is_in: boolean
  at: string
  written_at: string
  cause: string
  people: string[]
  task_key: string | null
  reason: string | null
  is_back: boolean
  volume_ml: number
  vessel_id: string | null
  lot_id: string | null
  other_kind: string
  other_vessel_id: string | null
  other_lot_id: string | null
  before_ml: number | null
  after_ml: number | null
}

/**
 * Movements of [fromAt, toAt) seen from each vessel or each lot they left and came to, in order of time. Wine that
 * became another lot where it lay moved no vessel's litres; wine that stayed its lot moved no lot's.
 *
 * Levels are read as the stretch of each vessel's page (`offset 0` holds the planner to it): at two million movements it
 * else reads them all, 5 s a month; looked up one by one they take a third longer.
 *
 * @param only one vessel or one lot; absent: all
 */
export async function listBookEnds(
  db: Db,
  cellarId: string,
  span: { readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant },
  by: 'vessel' | 'lot',
  only?: string,
): Promise<BookEnd[]> {
  const own = by === 'vessel' ? sql`e.vessel_id` : sql`e.lot_id`
  const among = only === undefined ? sql`` : sql`and ${own} = ${only}`
  const counts =
    by === 'vessel'
      ? sql`m.from_vessel_id is distinct from m.to_vessel_id`
      : sql`(m.from_lot_id is distinct from m.to_lot_id or m.from_lot_id is null)`
  const rows = await askRows<EndRaw>(
    db,
    sql`with page as materialized (
          select l.* from (select id from vessel where cellar_id = ${cellarId} and ${by === 'vessel'} ${
            by === 'vessel' && only !== undefined ? sql`and id = ${only}` : sql``
          }) v cross join lateral (
            select l.vessel_id, l.at, l.entry, l.before_ml, l.after_ml from level l
            where l.cellar_id = ${cellarId} and l.vessel_id = v.id and l.at >= ${span.fromAt.toString()}::timestamptz
              and l.at < ${span.toAt.toString()}::timestamptz offset 0) l
        )
        select e.is_in, ${iso(sql`m.at`)} as at, ${iso(sql`m.written_at`)} as written_at, m.cause, m.people, m.task_key,
               m.reason, m.reverses_id is not null as is_back, m.volume_ml::float8 as volume_ml, e.vessel_id, e.lot_id,
               e.other_kind, e.other_vessel_id, e.other_lot_id,
               l.before_ml::float8 as before_ml, l.after_ml::float8 as after_ml
        from movement m cross join lateral (values
          (false, m.from_vessel_id, m.from_lot_id, m.to_kind, m.to_vessel_id, m.to_lot_id),
          (true, m.to_vessel_id, m.to_lot_id, m.from_kind, m.from_vessel_id, m.from_lot_id)
        ) as e(is_in, vessel_id, lot_id, other_kind, other_vessel_id, other_lot_id)
        left join page l on l.vessel_id = e.vessel_id and l.at = m.at and l.entry = m.entry
        where m.cellar_id = ${cellarId} and m.at >= ${span.fromAt.toString()}::timestamptz
          and m.at < ${span.toAt.toString()}::timestamptz and ${counts} and ${own} is not null ${among}
        order by m.at, m.entry, e.is_in`,
  )
  return rows.map((r) => ({
    isIn: r.is_in,
    at: r.at,
    writtenAt: r.written_at,
    cause: r.cause,
    people: r.people,
    taskKey: r.task_key,
    reason: r.reason,
    isBack: r.is_back,
    volumeMl: r.volume_ml,
    vesselId: r.vessel_id,
    lotId: r.lot_id,
    otherKind: r.other_kind,
    otherVesselId: r.other_vessel_id,
    otherLotId: r.other_lot_id,
    beforeMl: r.before_ml,
    afterMl: r.after_ml,
  }))
}

/** A moment as it travels, without a fraction that is nothing. */
const iso = (at: ReturnType<typeof sql>) =>
  sql`replace(to_char(${at} at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'), '.000Z', 'Z')`
