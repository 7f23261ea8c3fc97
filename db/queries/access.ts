/** Sessions and one-time links. Only digests of secrets are here. */
import { and, asc, desc, eq, gt, isNotNull, isNull, lt, ne, sql } from 'drizzle-orm'
import type { Role } from '../../api/protocol/facts.ts'
import type { Temporal } from '../../api/time.ts'
import type { Proof } from '../schema/access.ts'
import { account, loginLink, person, session } from '../schema.ts'
import type { Db } from '../types.ts'

export interface FoundSession {
  readonly id: string
  readonly cellarId: string
  readonly personId: string
  readonly accountId: string | null
  readonly name: string
  readonly role: Role
  readonly language: string
  readonly proof: Proof
  readonly seenAt: Temporal.Instant
  readonly deviceHash: string | null
  readonly lockedAt: Temporal.Instant | null
}

export async function addSession(db: Db, row: typeof session.$inferInsert): Promise<void> {
  await db.insert(session).values(row)
}

const samePerson = and(eq(person.cellarId, session.cellarId), eq(person.id, session.personId))

/** Who a session belongs to now: role and removal are read each time, so a change holds at once. */
export async function findSession(db: Db, tokenHash: string, at: Temporal.Instant): Promise<FoundSession | undefined> {
  const [row] = await db
    .select({
      id: session.id,
      cellarId: session.cellarId,
      personId: session.personId,
      accountId: person.accountId,
      name: person.name,
      role: person.role,
      language: person.language,
      proof: session.proof,
      seenAt: session.seenAt,
      deviceHash: session.deviceHash,
      lockedAt: session.lockedAt,
    })
    .from(session)
    .innerJoin(person, samePerson)
    .where(and(eq(session.tokenHash, tokenHash), gt(session.expiresAt, at), isNull(person.removedAt)))
  return row
}

export async function touchSession(db: Db, tokenHash: string, seenAt: Temporal.Instant): Promise<void> {
  await db.update(session).set({ seenAt }).where(eq(session.tokenHash, tokenHash))
}

export async function removeSession(db: Db, tokenHash: string): Promise<void> {
  await db.delete(session).where(eq(session.tokenHash, tokenHash))
}

export interface ListedSession {
  readonly id: string
  readonly cellarId: string
  readonly client: string
  readonly proof: Proof
  readonly createdAt: Temporal.Instant
  readonly seenAt: Temporal.Instant
  readonly shared: boolean
}

/** Whose sessions: a person's in one cellar, or those of everybody an account stands for. */
export type SessionsOf =
  | { readonly cellarId: string; readonly personId: string; readonly accountId?: undefined }
  | { readonly accountId: string }

const ofWhom = (whose: SessionsOf) =>
  whose.accountId === undefined
    ? and(eq(session.cellarId, whose.cellarId), eq(session.personId, whose.personId))
    : sql`(${session.cellarId}, ${session.personId}) in (select ${person.cellarId}, ${person.id} from ${person} where ${person.accountId} = ${whose.accountId})`

/** The last used first. */
export async function listSessions(db: Db, whose: SessionsOf, at: Temporal.Instant): Promise<ListedSession[]> {
  return db
    .select({
      id: session.id,
      cellarId: session.cellarId,
      client: session.client,
      proof: session.proof,
      createdAt: session.createdAt,
      seenAt: session.seenAt,
      shared: sql<boolean>`${session.deviceHash} is not null`,
    })
    .from(session)
    .where(and(ofWhom(whose), gt(session.expiresAt, at)))
    .orderBy(desc(session.seenAt), asc(session.id))
    .limit(200)
}

/** Ends one session, told by its id. */
export async function endSession(db: Db, whose: SessionsOf, id: string): Promise<boolean> {
  const ended = await db
    .delete(session)
    .where(and(ofWhom(whose), eq(session.id, id)))
    .returning({ id: session.id })
  return ended.length === 1
}

/** Ends all sessions, but one where it is named. */
export async function endSessions(db: Db, whose: SessionsOf, butId?: string): Promise<void> {
  await db.delete(session).where(and(ofWhom(whose), butId === undefined ? undefined : ne(session.id, butId)))
}

export const removeSessions = (db: Db, cellarId: string, personId: string): Promise<void> =>
  endSessions(db, { cellarId, personId })

export async function removeExpired(db: Db, at: Temporal.Instant): Promise<void> {
  await db.delete(session).where(lt(session.expiresAt, at))
  await db.delete(loginLink).where(lt(loginLink.expiresAt, at))
}

export async function addLoginLink(db: Db, row: typeof loginLink.$inferInsert): Promise<void> {
  await db.insert(loginLink).values(row)
}

export interface UsedLink {
  readonly cellarId: string
  readonly personId: string | null
  readonly madeBy: string | null
}

/** Uses a link up: the first caller gets it, every other one nothing. */
export async function useLoginLink(db: Db, tokenHash: string, at: Temporal.Instant): Promise<UsedLink | undefined> {
  const [row] = await db
    .update(loginLink)
    .set({ usedAt: at })
    .where(and(eq(loginLink.tokenHash, tokenHash), isNull(loginLink.usedAt), gt(loginLink.expiresAt, at)))
    .returning({ cellarId: loginLink.cellarId, personId: loginLink.personId, madeBy: loginLink.madeBy })
  return row
}

export interface Invitation {
  readonly id: string
  readonly personId: string
  readonly madeBy: string | null
  readonly createdAt: Temporal.Instant
  readonly expiresAt: Temporal.Instant
}

/** Links that still sign somebody in, the newest first. */
export async function listInvitations(db: Db, cellarId: string, at: Temporal.Instant): Promise<Invitation[]> {
  const rows = await db
    .select({
      id: loginLink.id,
      personId: loginLink.personId,
      madeBy: loginLink.madeBy,
      createdAt: loginLink.createdAt,
      expiresAt: loginLink.expiresAt,
    })
    .from(loginLink)
    .where(
      and(
        eq(loginLink.cellarId, cellarId),
        isNotNull(loginLink.personId),
        isNull(loginLink.usedAt),
        gt(loginLink.expiresAt, at),
      ),
    )
    .orderBy(desc(loginLink.createdAt), asc(loginLink.id))
    .limit(500)
  return rows.flatMap((row) => (row.personId === null ? [] : [{ ...row, personId: row.personId }]))
}

/** Makes a link dead; one that was used is not there any more. */
export async function revokeInvitation(db: Db, cellarId: string, id: string): Promise<boolean> {
  const gone = await db
    .delete(loginLink)
    .where(and(eq(loginLink.cellarId, cellarId), eq(loginLink.id, id), isNull(loginLink.usedAt)))
    .returning({ id: loginLink.id })
  return gone.length === 1
}

export async function removeInvitations(db: Db, cellarId: string, personId: string): Promise<void> {
  await db.delete(loginLink).where(and(eq(loginLink.cellarId, cellarId), eq(loginLink.personId, personId)))
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
