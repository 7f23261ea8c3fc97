import { and, asc, desc, eq, inArray, isNull, sql } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import { content, ledgerCheck, quarantine, stockCount } from '../schema.ts'
import type { Db } from '../types.ts'
import { chunked } from './movements.ts'

export type ContentRow = Omit<typeof content.$inferSelect, 'cellarId'>
export type QuarantineRow = Omit<typeof quarantine.$inferSelect, 'cellarId'>
export type StockCountRow = Omit<typeof stockCount.$inferSelect, 'cellarId'>
export type LedgerCheckRow = Omit<typeof ledgerCheck.$inferSelect, 'cellarId'>

const without = <T extends { cellarId: string }>({ cellarId: _, ...rest }: T): Omit<T, 'cellarId'> => rest

/** What is in vessels now; empty ones have no row. */
export async function listContents(
  db: Db,
  cellarId: string,
  wish: { readonly vesselIds?: readonly string[]; readonly lotId?: string } = {},
): Promise<ContentRow[]> {
  if (wish.vesselIds?.length === 0) return []
  const rows = await db
    .select()
    .from(content)
    .where(
      and(
        eq(content.cellarId, cellarId),
        wish.vesselIds && inArray(content.vesselId, [...wish.vesselIds]),
        wish.lotId === undefined ? undefined : eq(content.lotId, wish.lotId),
      ),
    )
    .orderBy(asc(content.vesselId))
  return rows.map(without)
}

/** Litres alone, for the planner: lot, vessel, millilitres. */
export async function listStock(
  db: Db,
  cellarId: string,
): Promise<{ lotId: string; vesselId: string; volumeMl: number }[]> {
  return db
    .select({ lotId: content.lotId, vesselId: content.vesselId, volumeMl: content.volumeMl })
    .from(content)
    .where(eq(content.cellarId, cellarId))
    .orderBy(asc(content.vesselId))
}

/** Writes what is in these vessels now over what was; those without wine have no row after it. */
export async function saveContents(
  db: Db,
  cellarId: string,
  vesselIds: readonly string[] | 'all',
  rows: readonly ContentRow[],
): Promise<void> {
  if (vesselIds !== 'all' && vesselIds.length === 0) return
  await db
    .delete(content)
    .where(
      and(eq(content.cellarId, cellarId), vesselIds === 'all' ? undefined : inArray(content.vesselId, [...vesselIds])),
    )
  for (const some of chunked(rows)) await db.insert(content).values(some.map((r) => ({ cellarId, ...r })))
}

export async function addQuarantine(db: Db, cellarId: string, row: QuarantineRow): Promise<void> {
  await db.insert(quarantine).values({ cellarId, ...row })
}

export async function liftQuarantine(
  db: Db,
  cellarId: string,
  lotId: string,
  by: { readonly at: Temporal.Instant; readonly personId: string; readonly reason: string },
): Promise<void> {
  await db
    .update(quarantine)
    .set({ liftedAt: by.at, liftedBy: by.personId, liftReason: by.reason })
    .where(and(eq(quarantine.cellarId, cellarId), eq(quarantine.lotId, lotId), isNull(quarantine.liftedAt)))
}

export async function addStockCount(db: Db, cellarId: string, row: StockCountRow): Promise<void> {
  await db.insert(stockCount).values({ cellarId, ...row })
}

/** Newest first. */
export async function listStockCounts(db: Db, cellarId: string, limit: number): Promise<StockCountRow[]> {
  const rows = await db
    .select()
    .from(stockCount)
    .where(eq(stockCount.cellarId, cellarId))
    .orderBy(desc(stockCount.at), desc(stockCount.id))
    .limit(limit)
  return rows.map(without)
}

export async function findStockCount(db: Db, cellarId: string, id: string): Promise<StockCountRow | undefined> {
  const [row] = await db
    .select()
    .from(stockCount)
    .where(and(eq(stockCount.cellarId, cellarId), eq(stockCount.id, id)))
  return row && without(row)
}

/** Keeps a check; the same moment again is the same check. */
export async function saveLedgerCheck(db: Db, cellarId: string, row: LedgerCheckRow): Promise<void> {
  await db
    .insert(ledgerCheck)
    .values({ cellarId, ...row })
    .onConflictDoUpdate({
      target: [ledgerCheck.cellarId, ledgerCheck.at],
      set: {
        ok: sql`excluded.ok`,
        movements: sql`excluded.movements`,
        tookMs: sql`excluded.took_ms`,
        faults: sql`excluded.faults`,
      },
    })
}

/** Newest first. */
export async function listLedgerChecks(db: Db, cellarId: string, limit: number): Promise<LedgerCheckRow[]> {
  const rows = await db
    .select()
    .from(ledgerCheck)
    .where(eq(ledgerCheck.cellarId, cellarId))
    .orderBy(desc(ledgerCheck.at))
    .limit(limit)
  return rows.map(without)
}
