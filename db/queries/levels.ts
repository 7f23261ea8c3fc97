import { and, eq, gte, inArray, type SQL, sql } from 'drizzle-orm'
import type { Level } from '../../api/cellar/ledger/page.ts'
import { Temporal } from '../../api/time.ts'
import { level } from '../schema.ts'
import type { Db } from '../types.ts'
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
    /** Only what came in or became another lot, and where it ran empty: who held what, without every draw. */
    readonly turns?: boolean
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
          ${wish.turns ? sql`and (l.after_ml >= l.before_ml or l.after_ml = 0)` : sql``}
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
  const wanted = JSON.stringify(made.map((m) => ({ v: m.vesselId, t: new Date(m.atMs).toISOString(), e: m.entry })))
  const rows = await ask<LevelRaw>(
    db,
    sql`select ${levelColumns}
        from jsonb_to_recordset(${wanted}::jsonb) as w(v text, t timestamptz, e bigint)
        join level l on l.cellar_id = ${cellarId} and l.vessel_id = w.v and l.at = w.t and l.entry = w.e
        order by l.vessel_id, l.at, l.entry`,
  )
  return rows.map(fromRaw)
}

/**
 * The newest levels of a vessel up to a moment, in order of time, and how many there are.
 *
 * @param since the level it begins with (of one filling); absent: all the vessel's years
 */
export async function listNewest(
  db: Db,
  cellarId: string,
  vesselId: string,
  untilAt: Temporal.Instant,
  most: number,
  since?: Pick<Level, 'sinceMs' | 'sinceEntry'>,
): Promise<{ readonly levels: readonly Level[]; readonly count: number }> {
  const from = since
    ? sql`and (l.at, l.entry) >= (${Temporal.Instant.fromEpochMilliseconds(since.sinceMs).toString()}::timestamptz,
          ${since.sinceEntry}::bigint)`
    : sql``
  const among = sql`from level l where l.cellar_id = ${cellarId} and l.vessel_id = ${vesselId} ${from}
    and l.at <= ${untilAt.toString()}::timestamptz`
  const rows = await ask<LevelRaw>(
    db,
    sql`select ${levelColumns} ${among} order by l.at desc, l.entry desc limit ${most}`,
  )
  const levels = rows.map(fromRaw).reverse()
  if (levels.length < most) return { levels, count: levels.length }
  const [all] = await ask<{ n: number }>(db, sql`select count(*)::float8 as n ${among}`)
  return { levels, count: all?.n ?? levels.length }
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

/** Raw rows, the same from both drivers. */
export async function ask<T extends object>(db: Db, query: SQL): Promise<T[]> {
  const answer: unknown = await db.execute(query)
  return (Array.isArray(answer) ? [...answer] : (answer as { rows: T[] }).rows) as T[]
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

const levelColumns = sql`l.vessel_id, l.movement_id, (extract(epoch from l.at) * 1000)::float8 as at_ms,
  l.entry::float8 as entry, l.before_ml::float8 as before_ml, l.after_ml::float8 as after_ml, l.before_lot_id,
  l.after_lot_id, (extract(epoch from l.since_at) * 1000)::float8 as since_ms, l.since_entry::float8 as since_entry`

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
