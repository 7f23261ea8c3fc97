import { and, asc, count, desc, eq, inArray, sql } from 'drizzle-orm'
import type { OperationAnswerJson } from '../json.ts'
import { operation } from '../schema.ts'
import type { Db } from '../types.ts'

export type StoredOperation = typeof operation.$inferSelect

/**
 * Takes an operation's id. A second copy waits here until the first has ended.
 *
 * @returns the operation as it is stored, where its id was taken before
 */
export async function claimOperation(
  db: Db,
  row: Omit<StoredOperation, 'state' | 'answer'>,
): Promise<StoredOperation | undefined> {
  const taken = await db
    .insert(operation)
    .values({ ...row, state: 'stored', answer: { state: 'stored', words: '' } })
    .onConflictDoNothing()
    .returning({ opId: operation.opId })
  if (taken.length > 0) return undefined
  const [known] = await db
    .select()
    .from(operation)
    .where(and(eq(operation.cellarId, row.cellarId), eq(operation.opId, row.opId)))
  return known
}

/** In the transaction that took its id. */
export async function answerOperation(
  db: Db,
  cellarId: string,
  opId: string,
  answer: OperationAnswerJson,
): Promise<void> {
  await db
    .update(operation)
    .set({ state: answer.state, answer })
    .where(and(eq(operation.cellarId, cellarId), eq(operation.opId, opId)))
}

/** How many of a phone's operations, told by one person, are here. */
export async function countOperations(db: Db, cellarId: string, deviceId: string, personId: string): Promise<number> {
  const [row] = await db
    .select({ held: count() })
    .from(operation)
    .where(and(eq(operation.cellarId, cellarId), eq(operation.deviceId, deviceId), eq(operation.personId, personId)))
  return row?.held ?? 0
}

/** Those that somebody should look at, newest first; those that were settled left out. */
export async function listUnsettled(db: Db, cellarId: string, personId?: string): Promise<StoredOperation[]> {
  return db
    .select()
    .from(operation)
    .where(
      and(
        eq(operation.cellarId, cellarId),
        inArray(operation.state, ['check', 'refused']),
        personId === undefined ? undefined : eq(operation.personId, personId),
        sql`not exists (select 1 from ${operation} s where s.cellar_id = ${cellarId} and s.kind = 'settle' and s.task_key = ${operation.opId})`,
      ),
    )
    .orderBy(desc(operation.writtenAt), asc(operation.opId))
    .limit(200)
}

/** One at a time for a task: the second to tick it sees the first. Held to the end of the transaction. */
export async function lockTask(db: Db, cellarId: string, key: string): Promise<void> {
  await db.execute(sql`select pg_advisory_xact_lock(hashtext(${`task ${cellarId} ${key}`}))`)
}
