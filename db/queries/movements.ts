import { and, asc, desc, eq, gt, gte, isNull, lt, lte, max, or, type SQL, sql } from 'drizzle-orm'
import type { AnyPgColumn } from 'drizzle-orm/pg-core'
import type { Movement, Place, Receipt } from '../../api/cellar/ledger/movement.ts'
import { isoOf, Temporal } from '../../api/time.ts'
import { movement, receipt } from '../schema.ts'
import type { Db } from '../types.ts'
import { ask, ms } from './ask.ts'
import { appendEntries } from './record.ts'

export type MovementRow = Omit<typeof movement.$inferSelect, 'cellarId'>
export type ReceiptRow = Omit<typeof receipt.$inferSelect, 'cellarId'>

/** Rows a statement: 22 columns a row stay far below the 65,535 parameters of the wire protocol. */
const CHUNK = 1_000

export function chunked<T>(rows: readonly T[], size = CHUNK): T[][] {
  return Array.from({ length: Math.ceil(rows.length / size) }, (_, i) => rows.slice(i * size, (i + 1) * size))
}

/** One writer of a cellar's ledger at a time, also with two servers. Held to the end of the transaction. */
export async function lockLedger(db: Db, cellarId: string): Promise<void> {
  await db.execute(sql`select pg_advisory_xact_lock(hashtext(${`ledger ${cellarId}`}))`)
}

export async function lastEntry(db: Db, cellarId: string): Promise<number> {
  const [row] = await db
    .select({ last: max(movement.entry) })
    .from(movement)
    .where(eq(movement.cellarId, cellarId))
  return row?.last ?? 0
}

export async function addMovements(db: Db, cellarId: string, rows: readonly MovementRow[]): Promise<void> {
  for (const some of chunked(rows)) await db.insert(movement).values(some.map((r) => ({ cellarId, ...r })))
  await appendEntries(
    db,
    cellarId,
    rows.map((r) => ({
      kind: 'movement',
      subjectId: r.id,
      taskKey: r.taskKey,
      lotId: r.toLotId ?? r.fromLotId,
      vesselId: r.toVesselId ?? r.fromVesselId,
      personId: r.people[0],
      opId: r.opId,
      at: r.at,
      writtenAt: r.writtenAt,
      correctsId: r.reversesId,
      fact: { ...r },
    })),
  )
}

/** Receipts that are stored already stay as they are. */
export async function addReceipts(db: Db, cellarId: string, rows: readonly ReceiptRow[]): Promise<void> {
  for (const some of chunked(rows))
    await db
      .insert(receipt)
      .values(some.map((r) => ({ cellarId, ...r })))
      .onConflictDoNothing()
}

export async function listReceipts(db: Db, cellarId: string, ids?: readonly string[]): Promise<ReceiptRow[]> {
  if (ids?.length === 0) return []
  return ask<ReceiptRow>(
    db,
    sql`select id, kind, lot_id as "lotId", variety, vintage, block, origin from receipt
        where ${and(eq(receipt.cellarId, cellarId), ids && among(receipt.id, ids))} order by id`,
  )
}

/** Whether anything of a lot ever came through the door. */
export async function hasReceipt(db: Db, cellarId: string, lotId: string): Promise<boolean> {
  const rows = await ask<{ id: string }>(
    db,
    sql`select id from receipt where cellar_id = ${cellarId} and lot_id = ${lotId} limit 1`,
  )
  return rows.length > 0
}

/** One parameter however many there are: the wire protocol takes 65,535 of them. */
const among = (column: AnyPgColumn, ids: readonly string[]): SQL =>
  sql`${column} = any(array(select jsonb_array_elements_text(${JSON.stringify(ids)}::jsonb)))`

interface Moment {
  readonly at: Temporal.Instant
  readonly entry: number
}

export interface MovementWish {
  readonly ids?: readonly string[]
  readonly fromAt?: Temporal.Instant
  /** Movements before this moment. */
  readonly toAt?: Temporal.Instant
  readonly vesselId?: string
  readonly lotId?: string
  readonly taskKey?: string
  readonly opId?: string
  /** Those that take one of these back. */
  readonly reversing?: readonly string[]
  /** Only those earlier, or later, than this place in the order. */
  readonly before?: Moment
  readonly after?: Moment
  readonly limit?: number
  readonly newestFirst?: boolean
}

/** Movements in order of time, entries of one moment in the order they were written. */
export async function listMovements(db: Db, cellarId: string, wish: MovementWish = {}): Promise<MovementRow[]> {
  if (wish.ids?.length === 0 || wish.reversing?.length === 0) return []
  if (wish.limit !== undefined) return listSome(db, cellarId, wish)
  const all: MovementRow[] = []
  for (let more: MovementRow[] = []; ; ) {
    const last = more.at(-1)
    const onward = last && (wish.newestFirst ? { before: last } : { after: last })
    more = await listSome(db, cellarId, { ...wish, ...onward, limit: BATCH })
    for (const row of more) all.push(row)
    if (more.length < BATCH) return all
  }
}

/** One text must not hold the years of a whole book. */
const BATCH = 20_000

async function listSome(db: Db, cellarId: string, wish: MovementWish): Promise<MovementRow[]> {
  const order = wish.newestFirst ? desc : asc
  const rows = await ask<MovementRaw>(
    db,
    sql`select ${movementColumns} from movement
        where ${and(eq(movement.cellarId, cellarId), ...wished(wish))}
        order by ${order(movement.at)}, ${order(movement.entry)}
        ${wish.limit === undefined ? sql`` : sql`limit ${wish.limit}`}`,
  )
  return rows.map(movementFromRaw)
}

/** A row as `ask` hands it over. */
export type MovementRaw = Omit<MovementRow, 'at' | 'writtenAt'> & { readonly at: number; readonly writtenAt: number }

/** Of `movement` under its own name. */
export const movementColumns = sql`movement.id, movement.entry, ${ms(sql`movement.at`)} as at,
  ${ms(sql`movement.written_at`)} as "writtenAt", movement.from_kind as "fromKind",
  movement.from_vessel_id as "fromVesselId", movement.from_lot_id as "fromLotId", movement.to_kind as "toKind",
  movement.to_vessel_id as "toVesselId", movement.to_lot_id as "toLotId", movement.volume_ml as "volumeMl",
  movement.planned_ml as "plannedMl", movement.measured_before_ml as "measuredBeforeMl",
  movement.measured_after_ml as "measuredAfterMl", movement.cause, movement.people,
  movement.receipt_id as "receiptId", movement.task_key as "taskKey", movement.op_id as "opId",
  movement.reverses_id as "reversesId", movement.reason`

export const movementFromRaw = (r: MovementRaw): MovementRow => ({
  ...r,
  at: Temporal.Instant.fromEpochMilliseconds(r.at),
  writtenAt: Temporal.Instant.fromEpochMilliseconds(r.writtenAt),
})

/**
 * The newest movements of a vessel up to a moment, newest first, and how many there are.
 *
 * @param since the first of one filling; absent: all the vessel's years
 */
export async function listNewestOf(
  db: Db,
  cellarId: string,
  vesselId: string,
  untilAt: Temporal.Instant,
  most: number,
  since?: { readonly sinceMs: number; readonly sinceEntry: number },
): Promise<{ readonly rows: readonly MovementRow[]; readonly count: number }> {
  const from = since
    ? sql`and (l.at, l.entry) >= (${isoOf(since.sinceMs)}::timestamptz,
          ${since.sinceEntry}::bigint)`
    : sql``
  const among = sql`from level l where l.cellar_id = ${cellarId} and l.vessel_id = ${vesselId} ${from}
    and l.at <= ${untilAt.toString()}::timestamptz`
  const rows = await ask<MovementRaw>(
    db,
    sql`select ${movementColumns} from (
          select l.movement_id, l.at, l.entry ${among} order by l.at desc, l.entry desc limit ${most}) l
        cross join lateral (
          select * from movement m where m.cellar_id = ${cellarId} and m.id = l.movement_id offset 0) movement
        order by l.at desc, l.entry desc`,
  )
  if (rows.length < most) return { rows: rows.map(movementFromRaw), count: rows.length }
  const [all] = await ask<{ n: number }>(db, sql`select count(*) as n ${among}`)
  return { rows: rows.map(movementFromRaw), count: all?.n ?? rows.length }
}

/** The next movements that stand (neither taken back nor taking one back), in order of time. */
export async function listStanding(
  db: Db,
  cellarId: string,
  after: Pick<MovementRow, 'at' | 'entry'> | undefined,
  limit: number,
): Promise<MovementRow[]> {
  const rows = await ask<MovementRaw>(
    db,
    sql`select ${movementColumns} from movement
        where movement.cellar_id = ${cellarId} and movement.reverses_id is null
          ${after ? sql`and (movement.at, movement.entry) > (${after.at.toString()}::timestamptz, ${after.entry}::bigint)` : sql``}
          and not exists (select 1 from movement back where back.cellar_id = ${cellarId}
            and back.reverses_id = movement.id)
        order by movement.at, movement.entry limit ${limit}`,
  )
  return rows.map(movementFromRaw)
}

/** How many movements there are, and the first of those that neither a task nor a cause tells of. */
export async function countMovements(
  db: Db,
  cellarId: string,
  most: number,
): Promise<{ readonly count: number; readonly causeless: readonly string[] }> {
  const [all] = await db
    .select({ n: sql<number>`count(*)::float8` })
    .from(movement)
    .where(eq(movement.cellarId, cellarId))
  const causeless = await db
    .select({ id: movement.id })
    .from(movement)
    .where(
      and(
        eq(movement.cellarId, cellarId),
        isNull(movement.taskKey),
        isNull(movement.reversesId),
        sql`btrim(${movement.cause}, E' \\t\\r\\n') = ''`,
      ),
    )
    .orderBy(asc(movement.at), asc(movement.entry))
    .limit(most)
  return { count: all?.n ?? 0, causeless: causeless.map((r) => r.id) }
}

function wished(w: MovementWish): (SQL | undefined)[] {
  return [
    w.ids && among(movement.id, w.ids),
    w.fromAt && gte(movement.at, w.fromAt),
    w.toAt && lt(movement.at, w.toAt),
    w.vesselId === undefined
      ? undefined
      : or(eq(movement.fromVesselId, w.vesselId), eq(movement.toVesselId, w.vesselId)),
    w.lotId === undefined ? undefined : or(eq(movement.fromLotId, w.lotId), eq(movement.toLotId, w.lotId)),
    w.taskKey === undefined ? undefined : eq(movement.taskKey, w.taskKey),
    w.opId === undefined ? undefined : eq(movement.opId, w.opId),
    w.reversing && among(movement.reversesId, w.reversing),
    w.after && or(gt(movement.at, w.after.at), and(gte(movement.at, w.after.at), gt(movement.entry, w.after.entry))),
    w.before &&
      or(lt(movement.at, w.before.at), and(lte(movement.at, w.before.at), lt(movement.entry, w.before.entry))),
  ]
}

const placeOf = (kind: MovementRow['fromKind'], vesselId: string | null): Place =>
  kind === 'vessel' ? { vesselId: vesselId ?? '' } : { outside: kind }

export const receiptOf = (r: ReceiptRow): Receipt => ({
  id: r.id,
  variety: r.variety,
  vintage: r.vintage,
  block: r.block,
  origin: r.origin,
})

/** A row as the pure ledger knows it. */
export function movementOf(row: MovementRow, receipts?: ReadonlyMap<string, Receipt>): Movement {
  const found = row.receiptId === null ? undefined : receipts?.get(row.receiptId)
  return {
    id: row.id,
    entry: row.entry,
    atMs: row.at.epochMilliseconds,
    from: placeOf(row.fromKind, row.fromVesselId),
    to: placeOf(row.toKind, row.toVesselId),
    lotId: row.toLotId ?? row.fromLotId ?? '',
    ...(row.fromLotId === null ? {} : { fromLotId: row.fromLotId }),
    volumeMl: row.volumeMl,
    ...(found ? { receipt: found } : {}),
    cause: row.cause,
    people: row.people,
    ...(row.taskKey === null ? {} : { taskKey: row.taskKey }),
    ...(row.reversesId === null ? {} : { reverses: row.reversesId }),
    ...(row.reason === null ? {} : { reason: row.reason }),
  }
}
