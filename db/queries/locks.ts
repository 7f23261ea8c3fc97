import { sql } from 'drizzle-orm'
import type { Db } from '../types.ts'

/** One re-plan at a time per cellar, also with two servers. Held to the end of the transaction. */
export async function lockPlan(db: Db, cellarId: string): Promise<void> {
  await db.execute(sql`select pg_advisory_xact_lock(hashtext(${`plan ${cellarId}`}))`)
}

/** Tells every server that listens. Delivered when the transaction commits. */
export async function tell(db: Db, channel: string, message: string): Promise<void> {
  await db.execute(sql`select pg_notify(${channel}, ${message})`)
}

/** Answers when the database answers. */
export async function ping(db: Db): Promise<void> {
  await db.execute(sql`select 1`)
}
