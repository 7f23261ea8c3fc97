import { and, eq, gte, inArray, sql } from 'drizzle-orm'
import type { Level } from '../../api/cellar/ledger/page.ts'
import { isoOf, Temporal } from '../../api/time.ts'
import { level } from '../schema.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'
import { chunked } from './movements.ts'

const rowOf = (l: Level) => ({
  vesselId: l.vesselId,
  at: Temporal.Instant.fromEpochMilliseconds(l.atMs),
  entry: l.entry,
  movementId: l.movementId,
  beforeMl: l.beforeMl,
  afterMl: l.afterMl,
  beforeLotId: l.beforeLotId ?? null,
  afterLotId: l.afterLotId ?? null,
  sinceAt: Temporal.Instant.fromEpochMilliseconds(l.sinceMs),
  sinceEntry: l.sinceEntry,
})

export async function addLevels(db: Db, cellarId: string, levels: readonly Level[]): Promise<void> {
  for (const some of chunked(levels)) await db.insert(level).values(some.map((l) => ({ cellarId, ...rowOf(l) })))
}

/** Takes pages away from a moment on, to be written anew. Absent: whole pages of every vessel. */
export async function removeLevels(
  db: Db,
  cellarId: string,
  from?: { readonly at: Temporal.Instant; readonly vesselIds: readonly string[] },
): Promise<void> {
  await db
    .delete(level)
    .where(
      and(
        eq(level.cellarId, cellarId),
        from && inArray(level.vesselId, [...from.vesselIds]),
        from && gte(level.at, from.at),
      ),
    )
}

/** Pages of these vessels in [fromAt, toAt), in order of time. */
export async function listLevels(
  db: Db,
  cellarId: string,
  wish: {
    readonly vesselIds?: readonly string[]
    readonly fromAt?: Temporal.Instant
    readonly toAt?: Temporal.Instant
  } = {},
): Promise<Level[]> {
  if (wish.vesselIds?.length === 0) return []
  const among =
    wish.vesselIds &&
    sql`and l.vessel_id = any(array(select jsonb_array_elements_text(${JSON.stringify(wish.vesselIds)}::jsonb)))`
  const rows = await ask<LevelRaw>(
    db,
    sql`select ${levelColumns} from level l
        where l.cellar_id = ${cellarId} ${among ?? sql``}
          ${wish.fromAt ? sql`and l.at >= ${wish.fromAt.toString()}::timestamptz` : sql``}
          ${wish.toAt ? sql`and l.at < ${wish.toAt.toString()}::timestamptz` : sql``}
        order by l.vessel_id, l.at, l.entry`,
  )
  return rows.map(fromRaw)
}

/** Where fillings of these vessels begin and end, in order of time. */
export async function listTurns(db: Db, cellarId: string, vesselIds: readonly string[]): Promise<Level[]> {
  if (vesselIds.length === 0) return []
  const rows = await ask<LevelRaw>(
    db,
    sql`select ${levelColumns} from level l
        where l.cellar_id = ${cellarId}
          and l.vessel_id in (select jsonb_array_elements_text(${JSON.stringify(vesselIds)}::jsonb))
          and (l.after_ml >= l.before_ml or l.after_ml = 0) and (l.before_ml = 0 or l.after_ml = 0)
        order by l.vessel_id, l.at, l.entry`,
  )
  return rows.map(fromRaw)
}

/** The levels that movements made in these vessels. */
export async function listLevelsOf(
  db: Db,
  cellarId: string,
  made: readonly { readonly vesselId: string; readonly atMs: number; readonly entry: number }[],
): Promise<Level[]> {
  if (made.length === 0) return []
  const wanted = JSON.stringify(made.map((m) => ({ v: m.vesselId, t: isoOf(m.atMs), e: m.entry })))
  const rows = await ask<LevelRaw>(
    db,
    sql`select ${levelColumns}
        from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz, e bigint)
        join level l on l.cellar_id = ${cellarId} and l.vessel_id = w.v and l.at = w.t and l.entry = w.e
        order by l.vessel_id, l.at, l.entry`,
  )
  return rows.map(fromRaw)
}

/** Wine of one lot in a vessel, from when it came or got the name to when it went or got another. */
export interface Held {
  readonly lotId: string
  readonly fromMs: number
  readonly toMs: number | null
  readonly mostMl: number
}

/** The lots that vessels held up to a moment, one after the other. Only what came in or ran empty is looked at. */
export async function listHeld(
  db: Db,
  cellarId: string,
  vesselIds: readonly string[],
  untilAt: Temporal.Instant,
): Promise<(Held & { readonly vesselId: string })[]> {
  if (vesselIds.length === 0) return []
  return ask<Held & { vesselId: string }>(
    db,
    sql`with turn as (
          select l.vessel_id, l.at, l.entry, l.after_ml, l.after_lot_id,
                 lag(l.after_lot_id) over (partition by l.vessel_id order by l.at, l.entry)
                   is distinct from l.after_lot_id as is_new
          from level l
          where l.cellar_id = ${cellarId} and l.at <= ${untilAt.toString()}::timestamptz
            and l.vessel_id = any(array(select jsonb_array_elements_text(${JSON.stringify(vesselIds)}::jsonb)))
            and (l.after_ml >= l.before_ml or l.after_ml = 0)
        ), told as (
          select t.*, count(*) filter (where t.is_new) over (partition by t.vessel_id order by t.at, t.entry) as n
          from turn t
        ), one as (
          select t.vessel_id, t.n, min(t.after_lot_id) as lot_id, min(t.at) as from_at, max(t.after_ml) as most_ml
          from told t group by t.vessel_id, t.n
        ), ended as (
          select o.*, lead(o.from_at) over (partition by o.vessel_id order by o.n) as to_at from one o
        )
        select vessel_id as "vesselId", lot_id as "lotId", ${ms(sql`from_at`)} as "fromMs", ${ms(sql`to_at`)} as "toMs",
               most_ml as "mostMl"
        from ended where lot_id is not null order by vessel_id, n`,
  )
}

/** What a movement did to the vessels at its ends, and what took it back. */
export interface Ends {
  readonly fromBeforeMl: number | null
  readonly fromAfterMl: number | null
  readonly toBeforeMl: number | null
  readonly toAfterMl: number | null
  readonly reversedById: string | null
}

/** Ends of movements by their id. Moments go in as moments: behind a wall no index is asked for a computed one. */
export async function listEnds(
  db: Db,
  cellarId: string,
  moved: readonly {
    readonly id: string
    readonly at: Temporal.Instant
    readonly entry: number
    readonly fromVesselId: string | null
    readonly toVesselId: string | null
  }[],
): Promise<ReadonlyMap<string, Ends>> {
  if (moved.length === 0) return new Map()
  const wanted = JSON.stringify(
    moved.map((m) => ({ i: m.id, t: isoOf(m.at.epochMilliseconds), e: m.entry, f: m.fromVesselId, v: m.toVesselId })),
  )
  const rows = await ask<Ends & { id: string }>(
    db,
    sql`select w.i as id, f.before_ml as "fromBeforeMl", f.after_ml as "fromAfterMl", t.before_ml as "toBeforeMl",
               t.after_ml as "toAfterMl", b.id as "reversedById"
        from jsonb_to_recordset(${wanted}::jsonb) as w(i text, t timestamptz, e bigint, f text, v text)
        left join level f on f.cellar_id = ${cellarId} and f.vessel_id = w.f and f.at = w.t and f.entry = w.e
        left join level t on t.cellar_id = ${cellarId} and t.vessel_id = w.v and t.at = w.t and t.entry = w.e
        left join movement b on b.cellar_id = ${cellarId} and b.reverses_id = w.i`,
  )
  return new Map(rows.map((r) => [r.id, r]))
}

/** Litres in all vessels at a moment, millilitres. */
export async function stockMlAt(db: Db, cellarId: string, at: Temporal.Instant): Promise<number> {
  const [all] = await ask<{ ml: number }>(
    db,
    sql`select coalesce(sum(l.after_ml), 0)::float8 as ml
        from (select id from vessel where cellar_id = ${cellarId}) v cross join lateral (
          select l.after_ml from level l
          where l.cellar_id = ${cellarId} and l.vessel_id = v.id and l.at <= ${at.toString()}::timestamptz
          order by l.at desc, l.entry desc limit 1) l`,
  )
  return all?.ml ?? 0
}

interface LevelRaw {
  vessel_id: string
  movement_id: string
  at_ms: number
  entry: number
  before_ml: number
  after_ml: number
  before_lot_id: string | null
  after_lot_id: string | null
  since_ms: number
  since_entry: number
}

const levelColumns = sql`l.vessel_id, l.movement_id, ${ms(sql`l.at`)} as at_ms,
  l.entry::float8 as entry, l.before_ml::float8 as before_ml, l.after_ml::float8 as after_ml, l.before_lot_id,
  l.after_lot_id, ${ms(sql`l.since_at`)} as since_ms, l.since_entry::float8 as since_entry`

const fromRaw = (r: LevelRaw): Level => ({
  vesselId: r.vessel_id,
  movementId: r.movement_id,
  atMs: r.at_ms,
  entry: r.entry,
  beforeMl: r.before_ml,
  afterMl: r.after_ml,
  ...(r.before_lot_id === null ? {} : { beforeLotId: r.before_lot_id }),
  ...(r.after_lot_id === null ? {} : { afterLotId: r.after_lot_id }),
  sinceMs: r.since_ms,
  sinceEntry: r.since_entry,
})

/**
 * The last level of each vessel at a moment: one look-up a vessel. A vessel never filled has none.
 *
 * @param vesselIds absent: every vessel of the cellar
 * @param at        the last moment that counts, or the first that does not with `isBefore`
 */
export async function levelsAt(
  db: Db,
  cellarId: string,
  at: Temporal.Instant,
  { vesselIds, isBefore = false }: { readonly vesselIds?: readonly string[]; readonly isBefore?: boolean } = {},
): Promise<Map<string, Level>> {
  if (vesselIds?.length === 0) return new Map()
  const until = isBefore ? sql`l.at < ${at.toString()}::timestamptz` : sql`l.at <= ${at.toString()}::timestamptz`
  const wanted = vesselIds
    ? sql`(select value as id from jsonb_array_elements_text(${JSON.stringify(vesselIds)}::jsonb)) v`
    : sql`(select id from vessel where cellar_id = ${cellarId}) v`
  const rows = await ask<LevelRaw>(
    db,
    sql`select l.* from ${wanted} cross join lateral (
          select ${levelColumns} from level l
          where l.cellar_id = ${cellarId} and l.vessel_id = v.id and ${until}
          order by l.at desc, l.entry desc limit 1) l`,
  )
  return new Map(rows.map((r) => [r.vessel_id, fromRaw(r)]))
}

/** How many levels the page of each vessel has. */
export async function countLevels(db: Db, cellarId: string): Promise<ReadonlyMap<string, number>> {
  const rows = await db
    .select({ vesselId: level.vesselId, n: sql<number>`count(*)::float8` })
    .from(level)
    .where(eq(level.cellarId, cellarId))
    .groupBy(level.vesselId)
  return new Map(rows.map((r) => [r.vesselId, r.n]))
}

/** Whether any page has been written. */
export async function hasLevels(db: Db, cellarId: string): Promise<boolean> {
  const rows = await db.select({ entry: level.entry }).from(level).where(eq(level.cellarId, cellarId)).limit(1)
  return rows.length > 0
}
