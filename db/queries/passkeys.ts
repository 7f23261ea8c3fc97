/** The second step of signing in: passkeys, codes on paper, and the questions put to them. */
import { and, asc, eq, gt, isNull, lt, sql } from 'drizzle-orm'
import type { Temporal } from '../../api/time.ts'
import { challenge, passkey, recoveryCode } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredPasskey = typeof passkey.$inferSelect
export type Challenge = typeof challenge.$inferSelect

export async function listPasskeys(db: Db, accountId: string): Promise<StoredPasskey[]> {
  return db
    .select()
    .from(passkey)
    .where(eq(passkey.accountId, accountId))
    .orderBy(asc(passkey.createdAt), asc(passkey.id))
    .limit(50)
}

export async function addPasskey(db: Db, row: typeof passkey.$inferInsert): Promise<void> {
  await db.insert(passkey).values(row)
}

/** A signature was good: its count never goes back, which would mean a copied key. */
export async function countPasskeyUse(db: Db, id: string, counter: number, usedAt: Temporal.Instant): Promise<void> {
  await db.update(passkey).set({ counter, usedAt }).where(eq(passkey.id, id))
}

export async function removePasskey(db: Db, accountId: string, id: string): Promise<boolean> {
  const gone = await db
    .delete(passkey)
    .where(and(eq(passkey.accountId, accountId), eq(passkey.id, id)))
    .returning({ id: passkey.id })
  return gone.length === 1
}

/** Takes the second step away: keys and codes. */
export async function removeSecondStep(db: Db, accountId: string): Promise<void> {
  await db.delete(passkey).where(eq(passkey.accountId, accountId))
  await db.delete(recoveryCode).where(eq(recoveryCode.accountId, accountId))
}

/** New codes; those before are worth nothing. In a transaction of the caller's. */
export async function saveRecoveryCodes(
  db: Db,
  accountId: string,
  codeHashes: readonly string[],
  createdAt: Temporal.Instant,
): Promise<void> {
  await db.delete(recoveryCode).where(eq(recoveryCode.accountId, accountId))
  await db.insert(recoveryCode).values(codeHashes.map((codeHash) => ({ accountId, codeHash, createdAt })))
}

export async function countRecoveryCodes(db: Db, accountId: string): Promise<number> {
  const [row] = await db
    .select({ left: sql<number>`count(*)::int` })
    .from(recoveryCode)
    .where(and(eq(recoveryCode.accountId, accountId), isNull(recoveryCode.usedAt)))
  return row?.left ?? 0
}

/** Uses a code up: true for the first who does. */
export async function useRecoveryCode(
  db: Db,
  accountId: string,
  codeHash: string,
  usedAt: Temporal.Instant,
): Promise<boolean> {
  const used = await db
    .update(recoveryCode)
    .set({ usedAt })
    .where(and(eq(recoveryCode.accountId, accountId), eq(recoveryCode.codeHash, codeHash), isNull(recoveryCode.usedAt)))
    .returning({ codeHash: recoveryCode.codeHash })
  return used.length === 1
}

/** One open question at a time for each secret it hangs on; those that ran out go with it. */
export async function putChallenge(db: Db, row: typeof challenge.$inferInsert, at: Temporal.Instant): Promise<void> {
  await db.delete(challenge).where(lt(challenge.expiresAt, at))
  await db
    .insert(challenge)
    .values(row)
    .onConflictDoUpdate({ target: challenge.tokenHash, set: { ...row, tries: 0 } })
}

export async function findChallenge(db: Db, tokenHash: string, at: Temporal.Instant): Promise<Challenge | undefined> {
  const [row] = await db
    .select()
    .from(challenge)
    .where(and(eq(challenge.tokenHash, tokenHash), gt(challenge.expiresAt, at)))
  return row
}

/** Counts an answer before it is weighed. Answers how many there are now. */
export async function countChallengeTry(db: Db, tokenHash: string): Promise<number> {
  const [row] = await db
    .update(challenge)
    .set({ tries: sql`${challenge.tries} + 1` })
    .where(eq(challenge.tokenHash, tokenHash))
    .returning({ tries: challenge.tries })
  return row?.tries ?? Number.POSITIVE_INFINITY
}

/** Takes a question off: true for the first who does, so that an answer counts once. */
export async function takeChallenge(db: Db, tokenHash: string): Promise<boolean> {
  const gone = await db
    .delete(challenge)
    .where(eq(challenge.tokenHash, tokenHash))
    .returning({ tokenHash: challenge.tokenHash })
  return gone.length === 1
}
