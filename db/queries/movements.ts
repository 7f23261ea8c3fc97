import { and, asc, desc, eq, gte, isNull, lt, lte, max, or, type SQL, sql } from 'drizzle-orm'
import type { AnyPgColumn } from 'drizzle-orm/pg-core'
import type { Movement, Place, Receipt } from '../../api/cellar/ledger/movement.ts'
import type { Temporal } from '../../api/time.ts'
import { movement, receipt } from '../schema.ts'
import type { Db } from '../types.ts'
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
  const rows = await db
    .select()
    .from(receipt)
    .where(and(eq(receipt.cellarId, cellarId), ids && among(receipt.id, ids)))
    .orderBy(asc(receipt.id))
  return rows.map(({ cellarId: _, ...r }) => r)
}

/** One parameter however many there are: the wire protocol takes 65,535 of them. */
const among = (column: AnyPgColumn, ids: readonly string[]): SQL =>
  sql`${column} = any(array(select jsonb_array_elements_text(${JSON.stringify(ids)}::jsonb)))`

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
  /** Only those earlier than this place in the order. */
  readonly before?: { readonly at: Temporal.Instant; readonly entry: number }
  readonly limit?: number
  readonly newestFirst?: boolean
}

/** Movements in order of time, entries of one moment in the order they were written. */
export async function listMovements(db: Db, cellarId: string, wish: MovementWish = {}): Promise<MovementRow[]> {
  if (wish.ids?.length === 0 || wish.reversing?.length === 0) return []
  const order = wish.newestFirst ? desc : asc
  const query = db
    .select()
    .from(movement)
    .where(and(eq(movement.cellarId, cellarId), ...wished(wish)))
    .orderBy(order(movement.at), order(movement.entry))
  const rows = wish.limit === undefined ? await query : await query.limit(wish.limit)
  return rows.map(({ cellarId: _, ...r }) => r)
}

/** The next movements that stand (neither taken back nor taking one back), in order of time. */
export async function listStanding(
  db: Db,
  cellarId: string,
  after: Pick<MovementRow, 'at' | 'entry'> | undefined,
  limit: number,
): Promise<MovementRow[]> {
  const rows = await db
    .select()
    .from(movement)
    .where(
      and(
        eq(movement.cellarId, cellarId),
        after &&
          sql`(${movement.at}, ${movement.entry}) > (${after.at.toString()}::timestamptz, ${after.entry}::bigint)`,
        isNull(movement.reversesId),
        sql`not exists (select 1 from movement back where back.cellar_id = ${movement.cellarId}
          and back.reverses_id = ${movement.id})`,
      ),
    )
    .orderBy(asc(movement.at), asc(movement.entry))
    .limit(limit)
  return rows.map(({ cellarId: _, ...r }) => r)
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
