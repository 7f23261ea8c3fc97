import { createHash } from 'node:crypto'
import { and, asc, desc, eq, gt, gte, lt, or, sql } from 'drizzle-orm'
import { Temporal } from '../../api/time.ts'
import { recordEntry } from '../schema.ts'
import type { Db } from '../types.ts'

/** One fact for the record. `fact` is what was written, whole: a row changed later no longer fits it. */
export interface Entry {
  /** `reading`, `addition`, `transfer`, `movement`, `choices`, `person`, ...; of a task: what was told, `done`. */
  readonly kind: string
  /** Id of the row that was written; where only several columns name it, joined by a slash. */
  readonly subjectId: string
  readonly taskKey?: string | null | undefined
  readonly lotId?: string | null | undefined
  readonly vesselId?: string | null | undefined
  readonly personId?: string | null | undefined
  readonly opId?: string | null | undefined
  /** When it happened, as told. */
  readonly at: Temporal.Instant
  readonly writtenAt: Temporal.Instant
  /** Id of the row that this one corrects or takes back. */
  readonly correctsId?: string | null | undefined
  readonly fact: Readonly<Record<string, unknown>>
}

export type StoredEntry = Omit<typeof recordEntry.$inferSelect, 'cellarId'>

/** What the first entry of a cellar stands on. */
export const ROOT = '0'.repeat(64)

const sha256 = (text: string) => createHash('sha256').update(text).digest('hex')

/** JSON with the fields in order of name, nothing for what is absent or null, moments to the millisecond as the database keeps them. */
export function canonical(value: unknown): string {
  return JSON.stringify(ordered(value))
}

function ordered(value: unknown): unknown {
  if (value instanceof Temporal.Instant) return at(value)
  if (value instanceof Temporal.PlainDate) return value.toString()
  if (value instanceof Uint8Array) return sha256(Buffer.from(value).toString('base64'))
  if (Array.isArray(value)) return value.map(ordered)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(
    Object.entries(value)
      .filter(([, v]) => v !== null && v !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([k, v]) => [k, ordered(v)]),
  )
}

const at = (moment: Temporal.Instant) => Temporal.Instant.fromEpochMilliseconds(moment.epochMilliseconds).toString()

/** Over everything but the hash itself, the one before included. */
export function hashOf(e: Omit<StoredEntry, 'hash' | 'payload'>): string {
  return sha256(
    JSON.stringify([
      e.previous,
      e.entry,
      e.kind,
      e.subjectId,
      e.taskKey,
      e.lotId,
      e.vesselId,
      e.personId,
      e.opId,
      at(e.at),
      at(e.writtenAt),
      e.correctsId,
      e.digest,
    ]),
  )
}

/** Rows a statement; 16 columns a row stay far below the 65,535 parameters of the wire protocol. */
const CHUNK = 1_000

/**
 * Writes facts to the record of a cellar, in the order given. Call it in the transaction that writes the facts, as its
 * last statement: it holds the cellar's record to the end of the transaction, so that the chain never forks.
 */
export async function appendEntries(db: Db, cellarId: string, entries: readonly Entry[]): Promise<void> {
  if (entries.length === 0) return
  await db.execute(sql`select pg_advisory_xact_lock(hashtext(${`record ${cellarId}`}))`)
  const head = await findHead(db, cellarId)
  let previous = head?.hash ?? ROOT
  let entry = head?.entry ?? 0
  const rows = entries.map((e) => {
    const payload = canonical(e.fact)
    entry += 1
    const row = {
      entry,
      kind: e.kind,
      subjectId: e.subjectId,
      taskKey: e.taskKey ?? null,
      lotId: e.lotId ?? null,
      vesselId: e.vesselId ?? null,
      personId: e.personId ?? null,
      opId: e.opId ?? null,
      at: e.at,
      writtenAt: e.writtenAt,
      correctsId: e.correctsId ?? null,
      digest: sha256(payload),
      previous,
    }
    previous = hashOf(row)
    return { cellarId, ...row, payload, hash: previous }
  })
  for (let i = 0; i < rows.length; i += CHUNK) await db.insert(recordEntry).values(rows.slice(i, i + CHUNK))
}

/** One fact; see `appendEntries`. */
export const appendEntry = (db: Db, cellarId: string, entry: Entry): Promise<void> =>
  appendEntries(db, cellarId, [entry])

export async function findHead(
  db: Db,
  cellarId: string,
): Promise<{ readonly entry: number; readonly hash: string } | undefined> {
  const [head] = await db
    .select({ entry: recordEntry.entry, hash: recordEntry.hash })
    .from(recordEntry)
    .where(eq(recordEntry.cellarId, cellarId))
    .orderBy(desc(recordEntry.entry))
    .limit(1)
  return head
}

/** In the order of writing, after an entry. */
export async function listEntriesAfter(db: Db, cellarId: string, after: number, limit: number): Promise<StoredEntry[]> {
  return stripped(
    await db
      .select()
      .from(recordEntry)
      .where(and(eq(recordEntry.cellarId, cellarId), gt(recordEntry.entry, after)))
      .orderBy(asc(recordEntry.entry))
      .limit(limit),
  )
}

/** The entry of an operation about one thing; undefined where nothing was sent under that id. */
export async function findOperation(
  db: Db,
  cellarId: string,
  subjectId: string,
  opId: string,
): Promise<StoredEntry | undefined> {
  const [row] = stripped(
    await db
      .select()
      .from(recordEntry)
      .where(and(eq(recordEntry.cellarId, cellarId), eq(recordEntry.subjectId, subjectId), eq(recordEntry.opId, opId)))
      .orderBy(asc(recordEntry.entry))
      .limit(1),
  )
  return row
}

export interface EntriesAsked {
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
  readonly lotId?: string | undefined
  /** Tasks of a lot lead their key with its code. */
  readonly lotCode?: string | undefined
  readonly vesselId?: string | undefined
  readonly limit: number
}

/** What happened in a span, by when it happened. */
export async function listEntries(db: Db, cellarId: string, asked: EntriesAsked): Promise<StoredEntry[]> {
  return stripped(
    await db
      .select()
      .from(recordEntry)
      .where(
        and(
          eq(recordEntry.cellarId, cellarId),
          gte(recordEntry.at, asked.fromAt),
          lt(recordEntry.at, asked.toAt),
          asked.lotId === undefined
            ? undefined
            : or(
                eq(recordEntry.lotId, asked.lotId),
                asked.lotCode === undefined
                  ? undefined
                  : sql`starts_with(${recordEntry.taskKey}, ${`${asked.lotCode}/`})`,
              ),
          asked.vesselId === undefined ? undefined : eq(recordEntry.vesselId, asked.vesselId),
        ),
      )
      .orderBy(asc(recordEntry.at), asc(recordEntry.entry))
      .limit(asked.limit),
  )
}

const stripped = (rows: readonly (typeof recordEntry.$inferSelect)[]): StoredEntry[] =>
  rows.map(({ cellarId: _c, ...rest }) => rest)
