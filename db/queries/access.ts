import { and, eq, gt, isNotNull, isNull, lt } from 'drizzle-orm'
import type { Role } from '../../api/protocol/facts.ts'
import type { Temporal } from '../../api/time.ts'
import { account, loginLink, person, session } from '../schema.ts'
import type { Db } from '../types.ts'

export interface SignedIn {
  readonly cellarId: string
  readonly personId: string
  readonly name: string
  readonly role: Role
  readonly language: string
  readonly seenAt: Temporal.Instant
}

export async function addSession(db: Db, row: typeof session.$inferInsert): Promise<void> {
  await db.insert(session).values(row)
}

/** Who a session belongs to now: the role is read each time, so a change holds at once. */
export async function findSession(db: Db, tokenHash: string, at: Temporal.Instant): Promise<SignedIn | undefined> {
  const [row] = await db
    .select({
      cellarId: session.cellarId,
      personId: session.personId,
      name: person.name,
      role: person.role,
      language: person.language,
      seenAt: session.seenAt,
    })
    .from(session)
    .innerJoin(person, and(eq(person.cellarId, session.cellarId), eq(person.id, session.personId)))
    .where(and(eq(session.tokenHash, tokenHash), gt(session.expiresAt, at)))
  return row
}

export async function touchSession(db: Db, tokenHash: string, seenAt: Temporal.Instant): Promise<void> {
  await db.update(session).set({ seenAt }).where(eq(session.tokenHash, tokenHash))
}

export async function removeSession(db: Db, tokenHash: string): Promise<void> {
  await db.delete(session).where(eq(session.tokenHash, tokenHash))
}

export async function removeSessions(db: Db, cellarId: string, personId: string): Promise<void> {
  await db.delete(session).where(and(eq(session.cellarId, cellarId), eq(session.personId, personId)))
}

export async function removeExpired(db: Db, at: Temporal.Instant): Promise<void> {
  await db.delete(session).where(lt(session.expiresAt, at))
  await db.delete(loginLink).where(lt(loginLink.expiresAt, at))
}

export async function addLoginLink(db: Db, row: typeof loginLink.$inferInsert): Promise<void> {
  await db.insert(loginLink).values(row)
}

/** Uses a link up: the first caller gets it, every other one nothing. */
export async function useLoginLink(
  db: Db,
  tokenHash: string,
  at: Temporal.Instant,
): Promise<{ cellarId: string; personId: string | null } | undefined> {
  const [row] = await db
    .update(loginLink)
    .set({ usedAt: at })
    .where(and(eq(loginLink.tokenHash, tokenHash), isNull(loginLink.usedAt), gt(loginLink.expiresAt, at)))
    .returning({ cellarId: loginLink.cellarId, personId: loginLink.personId })
  return row
}

export async function findPasswordHash(db: Db, cellarId: string, personId: string): Promise<string | undefined> {
  const [row] = await db
    .select({ passwordHash: account.passwordHash })
    .from(person)
    .innerJoin(account, eq(account.id, person.accountId))
    .where(and(eq(person.cellarId, cellarId), eq(person.id, personId)))
  return row?.passwordHash ?? undefined
}

/** Whether some owner can sign in with a password: only then may the server be reached from other machines. */
export async function ownerHasPassword(db: Db): Promise<boolean> {
  const rows = await db
    .select({ id: person.id })
    .from(person)
    .innerJoin(account, eq(account.id, person.accountId))
    .where(and(eq(person.role, 'owner'), isNotNull(account.passwordHash), isNull(person.removedAt)))
    .limit(1)
  return rows.length === 1
}
