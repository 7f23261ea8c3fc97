import { sql } from 'drizzle-orm'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'

/** Movements that neither were taken back nor take one back. */
const stands = sql`m.reverses_id is null and not exists (
  select 1 from movement b where b.cellar_id = m.cellar_id and b.reverses_id = m.id)`

/** Lots that got wine of this one, in the order in which they first did. */
export async function listChildren(
  db: Db,
  cellarId: string,
  lotId: string,
  toAt: Temporal.Instant,
): Promise<readonly { readonly lotId: string; readonly volumeMl: number; readonly firstAt: Temporal.Instant }[]> {
  const rows = await ask<{ lot_id: string; ml: number; at_ms: number }>(
    db,
    sql`select m.to_lot_id as lot_id, sum(m.volume_ml)::float8 as ml,
               ${ms(sql`min(m.at)`)} as at_ms
        from movement m
        where m.cellar_id = ${cellarId} and m.from_lot_id = ${lotId} and m.at < ${toAt.toString()}::timestamptz
          and m.to_lot_id <> m.from_lot_id and ${stands}
        group by m.to_lot_id order by min(m.at), m.to_lot_id`,
  )
  return rows.map((r) => ({
    lotId: r.lot_id,
    volumeMl: r.ml,
    firstAt: Temporal.Instant.fromEpochMilliseconds(r.at_ms),
  }))
}

/** When wine of a lot was first moved in each vessel. */
export async function listFirstSeen(
  db: Db,
  cellarId: string,
  lotId: string,
): Promise<readonly { readonly vesselId: string; readonly atMs: number }[]> {
  const rows = await ask<{ vessel_id: string; at_ms: number }>(
    db,
    sql`select s.vessel_id, ${ms(sql`min(s.at)`)} as at_ms from (
          select m.to_vessel_id as vessel_id, m.at from movement m
          where m.cellar_id = ${cellarId} and m.to_lot_id = ${lotId}
          union all
          select m.from_vessel_id, m.at from movement m where m.cellar_id = ${cellarId} and m.from_lot_id = ${lotId}) s
        where s.vessel_id is not null group by s.vessel_id order by s.vessel_id`,
  )
  return rows.map((r) => ({ vesselId: r.vessel_id, atMs: r.at_ms }))
}

/** Vessels that wine of these lots was ever moved in or out of, in order of id. */
export async function listVesselsOf(db: Db, cellarId: string, lotIds: readonly string[]): Promise<string[]> {
  if (lotIds.length === 0) return []
  const among = sql`any(array(select jsonb_array_elements_text(${JSON.stringify(lotIds)}::jsonb)))`
  const rows = await ask<{ id: string }>(
    db,
    sql`select m.to_vessel_id as id from movement m
        where m.cellar_id = ${cellarId} and m.to_lot_id = ${among} and m.to_vessel_id is not null
        union select m.from_vessel_id from movement m
        where m.cellar_id = ${cellarId} and m.from_lot_id = ${among} and m.from_vessel_id is not null
        order by 1`,
  )
  return rows.map((r) => r.id)
}

/** What came in and went out of the cellar in [fromAt, toAt), by kind and cause; taking back counts the other way. */
export async function sumOutside(
  db: Db,
  cellarId: string,
  span: { readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant },
): Promise<
  readonly { readonly isIn: boolean; readonly kind: string; readonly cause: string; readonly volumeMl: number }[]
> {
  const rows = await ask<{ from_kind: string; to_kind: string; cause: string; back: boolean; ml: number }>(
    db,
    sql`select m.from_kind, m.to_kind, m.cause, m.reverses_id is not null as back, sum(m.volume_ml)::float8 as ml
        from movement m
        where m.cellar_id = ${cellarId} and m.at >= ${span.fromAt.toString()}::timestamptz
          and m.at < ${span.toAt.toString()}::timestamptz and (m.from_kind <> 'vessel' or m.to_kind <> 'vessel')
        group by 1, 2, 3, 4 order by 1, 2, 3, 4`,
  )
  return rows.flatMap((r) => {
    const [from, to, sign] = r.back ? [r.to_kind, r.from_kind, -1] : [r.from_kind, r.to_kind, 1]
    return [
      ...(from === 'vessel' ? [] : [{ isIn: true, kind: from, cause: r.cause, volumeMl: sign * r.ml }]),
      ...(to === 'vessel' ? [] : [{ isIn: false, kind: to, cause: r.cause, volumeMl: sign * r.ml }]),
    ]
  })
}

/** Litres lost by cause in each span [fromAt, toAt); spans follow one another. */
export async function sumLosses(
  db: Db,
  cellarId: string,
  spans: readonly { readonly name: string; readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant }[],
): Promise<readonly { readonly cause: string; readonly span: string; readonly volumeMl: number }[]> {
  const asked = JSON.stringify(spans.map((s) => ({ n: s.name, f: s.fromAt.toString(), t: s.toAt.toString() })))
  const rows = await ask<{ cause: string; span: string; ml: number }>(
    db,
    sql`select m.cause, s.n as span, sum(m.volume_ml)::float8 as ml
        from jsonb_to_recordset(${asked}::jsonb) as s(n text, f timestamptz, t timestamptz)
        join movement m on m.cellar_id = ${cellarId} and m.at >= s.f and m.at < s.t and m.to_kind in ('loss', 'lees')
        where ${stands}
        group by 1, 2 order by 1, 2`,
  )
  return rows.map((r) => ({ cause: r.cause, span: r.span, volumeMl: r.ml }))
}

/** Of each receipt of fruit: its tonnes, litres that came of it, and litres of its lot racked off as clear juice. */
export async function sumYields(
  db: Db,
  cellarId: string,
): Promise<ReadonlyMap<string, { readonly tonnes: number; readonly pressedMl: number; readonly clearMl: number }>> {
  const rows = await ask<{ id: string; tonnes: number; pressed: number; clear: number }>(
    db,
    sql`select r.id, (l.fruit->>'tonnes')::float8 as tonnes,
          coalesce((select sum(m.volume_ml) from movement m where m.cellar_id = r.cellar_id and m.receipt_id = r.id
            and m.to_lot_id = r.lot_id and ${stands}), 0)::float8 as pressed,
          coalesce((select sum(m.volume_ml) from movement m where m.cellar_id = r.cellar_id and m.to_lot_id = r.lot_id
            and m.from_kind = 'vessel' and split_part(m.task_key, '/', 2) = 'rack-juice' and ${stands}), 0)::float8 as clear
        from receipt r join lot l on l.cellar_id = r.cellar_id and l.id = r.lot_id
        where r.cellar_id = ${cellarId} and r.kind = 'fruit'`,
  )
  return new Map(rows.map((r) => [r.id, { tonnes: r.tonnes, pressedMl: r.pressed, clearMl: r.clear }]))
}
