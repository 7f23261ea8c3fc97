import { and, asc, eq, isNull } from 'drizzle-orm'
import type { Person } from '../../api/protocol/facts.ts'
import type { Result } from '../../api/result.ts'
import { Temporal } from '../../api/time.ts'
import { person } from '../schema.ts'
import type { Db } from '../types.ts'
import { overVersion } from './version.ts'

export type StoredPerson = Person & {
  readonly version: number
  /** Absent for those who come by link alone. */
  readonly accountId?: string
  readonly removedAt?: Temporal.Instant
}

const day = (text: string | undefined) => (text === undefined ? undefined : Temporal.PlainDate.from(text))

const fromRow = (row: typeof person.$inferSelect): StoredPerson => ({
  id: row.id,
  name: row.name,
  role: row.role,
  post: row.post,
  skills: row.skills,
  language: row.language,
  shifts: row.shifts.map((s) => ({
    weekdays: s.weekdays,
    startMin: s.startMin,
    endMin: s.endMin,
    ...(s.fromOn ? { fromOn: day(s.fromOn) } : {}),
    ...(s.untilOn ? { untilOn: day(s.untilOn) } : {}),
  })),
  ...(row.fromOn ? { fromOn: row.fromOn } : {}),
  ...(row.untilOn ? { untilOn: row.untilOn } : {}),
  absences: row.absences.map((a, i) => ({
    // Those written before absences had an id are known by when they are, and by their place where two are alike.
    id: a.id ?? `from-${Date.parse(a.fromAt)}-${Date.parse(a.toAt)}-${i}`,
    fromAt: Temporal.Instant.from(a.fromAt),
    toAt: Temporal.Instant.from(a.toAt),
    reason: a.reason,
  })),
  ...(row.accountId === null ? {} : { accountId: row.accountId }),
  ...(row.removedAt === null ? {} : { removedAt: row.removedAt }),
  version: row.version,
})

const toRow = (p: Person) => ({
  name: p.name,
  role: p.role,
  post: p.post,
  skills: [...p.skills],
  language: p.language,
  shifts: p.shifts.map((s) => ({
    weekdays: [...s.weekdays],
    startMin: s.startMin,
    endMin: s.endMin,
    ...(s.fromOn ? { fromOn: s.fromOn.toString() } : {}),
    ...(s.untilOn ? { untilOn: s.untilOn.toString() } : {}),
  })),
  fromOn: p.fromOn ?? null,
  untilOn: p.untilOn ?? null,
  absences: p.absences.map((a) => ({
    id: a.id,
    fromAt: a.fromAt.toString(),
    toAt: a.toAt.toString(),
    reason: a.reason,
  })),
})

export async function listPeople(db: Db, cellarId: string): Promise<StoredPerson[]> {
  return (await db.select().from(person).where(eq(person.cellarId, cellarId)).orderBy(asc(person.id))).map(fromRow)
}

export async function findPerson(db: Db, cellarId: string, id: string): Promise<StoredPerson | undefined> {
  const [row] = await db
    .select()
    .from(person)
    .where(and(eq(person.cellarId, cellarId), eq(person.id, id)))
  return row && fromRow(row)
}

export async function addPeople(db: Db, cellarId: string, people: readonly Person[]): Promise<void> {
  if (people.length > 0) await db.insert(person).values(people.map((p) => ({ cellarId, id: p.id, ...toRow(p) })))
}

/** Their own language; no version: nobody else sets it at the same time to any harm. */
export async function savePersonLanguage(db: Db, cellarId: string, id: string, language: string): Promise<void> {
  await db
    .update(person)
    .set({ language })
    .where(and(eq(person.cellarId, cellarId), eq(person.id, id)))
}

/** Saves over the version that was read; `stale` when someone else saved since. */
export async function savePerson(
  db: Db,
  cellarId: string,
  p: Person,
  version: number,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(person.cellarId, cellarId), eq(person.id, p.id))
  return overVersion(
    db
      .update(person)
      .set({ ...toRow(p), version: version + 1 })
      .where(and(key, eq(person.version, version)))
      .returning({ version: person.version }),
    () => db.select({ id: person.id }).from(person).where(key),
  )
}

/** Takes a person out of the cellar, or back in. What they did stays theirs. */
export async function markRemoved(
  db: Db,
  cellarId: string,
  id: string,
  version: number,
  gone: { readonly removedAt: Temporal.Instant; readonly untilOn: Temporal.PlainDate } | null,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const key = and(eq(person.cellarId, cellarId), eq(person.id, id))
  return overVersion(
    db
      .update(person)
      .set({ removedAt: gone?.removedAt ?? null, untilOn: gone?.untilOn ?? null, version: version + 1 })
      .where(and(key, eq(person.version, version)))
      .returning({ version: person.version }),
    () => db.select({ id: person.id }).from(person).where(key),
  )
}

/** Joins a person to an account; false where the person has one already. */
export async function joinAccount(db: Db, cellarId: string, id: string, accountId: string): Promise<boolean> {
  const joined = await db
    .update(person)
    .set({ accountId })
    .where(and(eq(person.cellarId, cellarId), eq(person.id, id), isNull(person.accountId)))
    .returning({ id: person.id })
  return joined.length === 1
}
