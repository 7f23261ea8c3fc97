/** Who somebody is, whatever the cellar: name, password, passkeys, codes on paper. */
import { and, eq, isNull, sql } from 'drizzle-orm'
import type { Role } from '../../api/protocol/facts.ts'
import type { Temporal } from '../../api/time.ts'
import { account, cellar, person } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredAccount = typeof account.$inferSelect

export async function findAccount(db: Db, id: string): Promise<StoredAccount | undefined> {
  const [row] = await db.select().from(account).where(eq(account.id, id))
  return row
}

export async function findAccountByName(db: Db, name: string): Promise<StoredAccount | undefined> {
  const [row] = await db
    .select()
    .from(account)
    .where(eq(sql`lower(${account.name})`, name.toLowerCase()))
  return row
}

/** A free name to sign in with: the wished one, or with a number behind it. */
async function freeName(db: Db, wished: string): Promise<string> {
  for (let nr = 1; ; nr++) {
    const name = nr === 1 ? wished : `${wished} ${nr}`
    if (!(await findAccountByName(db, name))) return name
  }
}

/** Gives a person a password; where there was none, the account is made and joined. In a transaction of the caller's. */
export async function savePasswordHash(
  db: Db,
  cellarId: string,
  personId: string,
  passwordHash: string,
  passwordChangedAt: Temporal.Instant,
): Promise<void> {
  const key = and(eq(person.cellarId, cellarId), eq(person.id, personId))
  const [row] = await db
    .select({ accountId: person.accountId, name: person.name })
    .from(person)
    .where(key)
    .for('update')
  if (!row) throw new Error(`no person ${personId} to give a password`)
  if (row.accountId !== null) {
    await db.update(account).set({ passwordHash, passwordChangedAt }).where(eq(account.id, row.accountId))
    return
  }
  const [made] = await db
    .insert(account)
    .values({
      id: sql`gen_random_uuid()::text`,
      name: await freeName(db, row.name),
      passwordHash,
      passwordChangedAt,
      createdAt: passwordChangedAt,
    })
    .returning({ id: account.id })
  await db.update(person).set({ accountId: made!.id }).where(key)
}

export interface Membership {
  readonly cellarId: string
  readonly cellarName: string
  readonly personId: string
  readonly name: string
  readonly role: Role
  readonly language: string
}

/** The cellars somebody works in, by name. */
export async function listMemberships(db: Db, accountId: string): Promise<Membership[]> {
  return db
    .select({
      cellarId: person.cellarId,
      cellarName: cellar.name,
      personId: person.id,
      name: person.name,
      role: person.role,
      language: person.language,
    })
    .from(person)
    .innerJoin(cellar, eq(cellar.id, person.cellarId))
    .where(and(eq(person.accountId, accountId), isNull(person.removedAt)))
    .orderBy(cellar.name, person.cellarId)
}
