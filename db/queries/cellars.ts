import { and, eq } from 'drizzle-orm'
import type { Cellar } from '../../api/protocol/facts.ts'
import type { Result } from '../../api/result.ts'
import { Temporal } from '../../api/time.ts'
import { cellar } from '../schema.ts'
import type { Db } from '../types.ts'
import { overVersion } from './version.ts'

export interface StoredCellar extends Cellar {
  readonly demo: boolean
  readonly version: number
}

export const cellarFromRow = (row: typeof cellar.$inferSelect): StoredCellar => ({
  id: row.id,
  name: row.name,
  hemisphere: row.hemisphere,
  vintage: row.vintage,
  zone: row.zone,
  units: row.units,
  sugarUnit: row.sugarUnit,
  language: row.language,
  rates: row.rates,
  holidays: row.holidays.map((h) => ({ on: Temporal.PlainDate.from(h.on), name: h.name })),
  ...(row.sites.length > 0 ? { sites: row.sites } : {}),
  exactWeeks: row.exactWeeks,
  demo: row.demo,
  version: row.version,
})

const toRow = (c: Cellar) => ({
  name: c.name,
  hemisphere: c.hemisphere,
  vintage: c.vintage,
  zone: c.zone,
  units: c.units,
  sugarUnit: c.sugarUnit,
  language: c.language,
  rates: c.rates,
  holidays: c.holidays.map((h) => ({ on: h.on.toString(), name: h.name })),
  sites: [...(c.sites ?? [])],
  ...(c.exactWeeks === undefined ? {} : { exactWeeks: c.exactWeeks }),
})

export async function findCellar(db: Db, cellarId: string): Promise<StoredCellar | undefined> {
  const [row] = await db.select().from(cellar).where(eq(cellar.id, cellarId))
  return row && cellarFromRow(row)
}

export async function listCellars(db: Db): Promise<StoredCellar[]> {
  return (await db.select().from(cellar).orderBy(cellar.id)).map(cellarFromRow)
}

export async function addCellar(
  db: Db,
  c: Cellar,
  options: { readonly demo: boolean; readonly at: Temporal.Instant },
): Promise<void> {
  await db.insert(cellar).values({ id: c.id, ...toRow(c), demo: options.demo, createdAt: options.at })
}

/** Saves over the version that was read; `stale` when someone else saved since. */
export async function saveCellar(db: Db, c: Cellar, version: number): Promise<Result<number, 'stale' | 'unknown'>> {
  return overVersion(
    db
      .update(cellar)
      .set({ ...toRow(c), version: version + 1 })
      .where(and(eq(cellar.id, c.id), eq(cellar.version, version)))
      .returning({ version: cellar.version }),
    () => db.select({ id: cellar.id }).from(cellar).where(eq(cellar.id, c.id)),
  )
}
