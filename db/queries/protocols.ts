import { and, asc, eq } from 'drizzle-orm'
import type { Choices } from '../../api/protocol/choices.ts'
import { no, ok, type Result } from '../../api/result.ts'
import type { Temporal } from '../../api/time.ts'
import { protocol } from '../schema.ts'
import type { Db } from '../types.ts'
import { overVersion } from './version.ts'

export interface Protocol {
  readonly id: string
  readonly name: string
  readonly choices: Choices
  readonly version: number
  readonly changedAt: Temporal.Instant
}

const fromRow = ({ cellarId: _, ...rest }: typeof protocol.$inferSelect): Protocol => rest

export async function listProtocols(db: Db, cellarId: string): Promise<Protocol[]> {
  return (await db.select().from(protocol).where(eq(protocol.cellarId, cellarId)).orderBy(asc(protocol.name))).map(
    fromRow,
  )
}

export async function addProtocol(
  db: Db,
  cellarId: string,
  p: Omit<Protocol, 'version'>,
): Promise<Result<null, 'name-taken'>> {
  const rows = await db
    .insert(protocol)
    .values({ cellarId, ...p })
    .onConflictDoNothing()
    .returning({ id: protocol.id })
  return rows.length === 1 ? ok(null) : no('name-taken')
}

export async function saveProtocol(
  db: Db,
  cellarId: string,
  p: Omit<Protocol, 'version'>,
  version: number,
): Promise<Result<number, 'stale' | 'unknown' | 'name-taken'>> {
  const key = and(eq(protocol.cellarId, cellarId), eq(protocol.id, p.id))
  const [other] = await db
    .select({ id: protocol.id })
    .from(protocol)
    .where(and(eq(protocol.cellarId, cellarId), eq(protocol.name, p.name)))
  if (other && other.id !== p.id) return no('name-taken')
  return overVersion(
    db
      .update(protocol)
      .set({ name: p.name, choices: p.choices, changedAt: p.changedAt, version: version + 1 })
      .where(and(key, eq(protocol.version, version)))
      .returning({ version: protocol.version }),
    () => db.select({ id: protocol.id }).from(protocol).where(key),
  )
}

export async function removeProtocol(db: Db, cellarId: string, id: string): Promise<boolean> {
  const rows = await db
    .delete(protocol)
    .where(and(eq(protocol.cellarId, cellarId), eq(protocol.id, id)))
    .returning({ id: protocol.id })
  return rows.length === 1
}
