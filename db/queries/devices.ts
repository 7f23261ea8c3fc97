/** Phones that several people share: the sessions that lie on one device, each behind a number of its own. */
import { and, asc, eq, gt, isNull, ne, sql } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import { person, session } from '../schema.ts'
import type { Db } from '../types.ts'

export interface Seat {
  readonly id: string
  readonly cellarId: string
  readonly personId: string
  readonly name: string
  readonly pinHash: string | null
  readonly pinTries: number
}

/** Who is on a phone, by name. */
export async function listSeats(db: Db, deviceHash: string, at: Temporal.Instant): Promise<Seat[]> {
  return db
    .select({
      id: session.id,
      cellarId: session.cellarId,
      personId: session.personId,
      name: person.name,
      pinHash: session.pinHash,
      pinTries: session.pinTries,
    })
    .from(session)
    .innerJoin(person, and(eq(person.cellarId, session.cellarId), eq(person.id, session.personId)))
    .where(and(eq(session.deviceHash, deviceHash), gt(session.expiresAt, at), isNull(person.removedAt)))
    .orderBy(asc(person.name), asc(session.id))
    .limit(50)
}

/** Puts a session on a phone; an older one of the same person there ends. In a transaction of the caller's. */
export async function takeSeat(
  db: Db,
  who: { readonly id: string; readonly cellarId: string; readonly personId: string },
  deviceHash: string,
  pinHash: string,
): Promise<void> {
  const mine = and(eq(session.cellarId, who.cellarId), eq(session.personId, who.personId))
  await db.delete(session).where(and(mine, eq(session.deviceHash, deviceHash), ne(session.id, who.id)))
  await db
    .update(session)
    .set({ deviceHash, pinHash, pinTries: 0 })
    .where(and(mine, eq(session.id, who.id)))
}

export async function lockSession(db: Db, id: string, at: Temporal.Instant): Promise<void> {
  await db.update(session).set({ lockedAt: at }).where(eq(session.id, id))
}

/** Counts a try before it is known how it ends, so that many at once count too. Answers how many there are now. */
export async function countPinTry(db: Db, id: string): Promise<number> {
  const [row] = await db
    .update(session)
    .set({ pinTries: sql`${session.pinTries} + 1` })
    .where(eq(session.id, id))
    .returning({ tries: session.pinTries })
  return row?.tries ?? Number.POSITIVE_INFINITY
}

/** Wakes a session under a new secret; the one before is worth nothing. */
export async function wakeSession(db: Db, id: string, tokenHash: string, at: Temporal.Instant): Promise<void> {
  await db.update(session).set({ tokenHash, lockedAt: null, pinTries: 0, seenAt: at }).where(eq(session.id, id))
}
