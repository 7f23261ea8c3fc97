import { and, asc, eq, isNull } from 'drizzle-orm'
import type { Result } from '../../api/result.ts'
import type { Temporal } from '../../api/time.ts'
import { cellar, feed, planState } from '../schema.ts'
import type { Db } from '../types.ts'
import { cellarFromRow, type StoredCellar } from './cellars.ts'
import { overVersion } from './version.ts'

export type StoredFeed = typeof feed.$inferSelect

export async function addFeed(db: Db, row: typeof feed.$inferInsert): Promise<void> {
  await db.insert(feed).values(row)
}

export async function listFeeds(db: Db, cellarId: string, personId?: string): Promise<StoredFeed[]> {
  return db
    .select()
    .from(feed)
    .where(
      and(
        eq(feed.cellarId, cellarId),
        isNull(feed.revokedAt),
        personId === undefined ? undefined : eq(feed.personId, personId),
      ),
    )
    .orderBy(asc(feed.createdAt), asc(feed.id))
}

export async function findFeed(db: Db, cellarId: string, id: string): Promise<StoredFeed | undefined> {
  const [row] = await db
    .select()
    .from(feed)
    .where(and(eq(feed.cellarId, cellarId), eq(feed.id, id), isNull(feed.revokedAt)))
  return row
}

export interface FeedState {
  readonly feed: StoredFeed
  readonly cellar: StoredCellar
  readonly planRevision: number
}

/**
 * By the digest of the token in the address, with all that decides whether a built body is still good: one statement,
 * as most readers ask only to hear that nothing changed. Revoked feeds are as unknown as wrong ones.
 */
export async function findFeedState(db: Db, tokenHash: string): Promise<FeedState | undefined> {
  const [row] = await db
    .select({ feed, cellar, planRevision: planState.revision })
    .from(feed)
    .innerJoin(cellar, eq(cellar.id, feed.cellarId))
    .leftJoin(planState, eq(planState.cellarId, feed.cellarId))
    .where(and(eq(feed.tokenHash, tokenHash), isNull(feed.revokedAt)))
  return row && { feed: row.feed, cellar: cellarFromRow(row.cellar), planRevision: row.planRevision ?? 0 }
}

export async function revokeFeed(db: Db, cellarId: string, id: string, revokedAt: Temporal.Instant): Promise<boolean> {
  const rows = await db
    .update(feed)
    .set({ revokedAt })
    .where(and(eq(feed.cellarId, cellarId), eq(feed.id, id), isNull(feed.revokedAt)))
    .returning({ id: feed.id })
  return rows.length === 1
}

/** A new token for the same feed; the old address is dead at once. */
export async function renewFeed(db: Db, cellarId: string, id: string, tokenHash: string): Promise<boolean> {
  const rows = await db
    .update(feed)
    .set({ tokenHash, lastFetchAt: null, lastClient: null })
    .where(and(eq(feed.cellarId, cellarId), eq(feed.id, id), isNull(feed.revokedAt)))
    .returning({ id: feed.id })
  return rows.length === 1
}

export async function noteFetch(
  db: Db,
  cellarId: string,
  id: string,
  lastFetchAt: Temporal.Instant,
  lastClient: string,
): Promise<void> {
  await db
    .update(feed)
    .set({ lastFetchAt, lastClient })
    .where(and(eq(feed.cellarId, cellarId), eq(feed.id, id)))
}

/** Changes what a feed shows, over the version that was read; it rises, so that the feed is built anew. */
export async function saveFeed(
  db: Db,
  cellarId: string,
  id: string,
  settings: Pick<StoredFeed, 'name' | 'language' | 'showDoses' | 'alarmMin'>,
  version: number,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(feed.cellarId, cellarId), eq(feed.id, id), isNull(feed.revokedAt))
  return overVersion(
    db
      .update(feed)
      .set({ ...settings, version: version + 1 })
      .where(and(key, eq(feed.version, version)))
      .returning({ version: feed.version }),
    () => db.select({ id: feed.id }).from(feed).where(key),
  )
}
