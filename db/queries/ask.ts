import { type SQL, sql } from 'drizzle-orm'
import { KEPT } from '../kept.ts'
import type { Db } from '../types.ts'

/**
 * Rows of a question that only reads, the same from both databases. They come as one text: the embedded one hands over
 * field by field, which for 93 movements takes 9 ms against 3.5 (their 22 fields through its own types 25).
 *
 * @param query its columns named apart; moments as milliseconds (`ms`), since text would come in the server's style;
 *              of few wordings (a list goes in as JSON), since each is kept planned
 */
export async function ask<T extends object>(db: Db, query: SQL): Promise<T[]> {
  const answer: unknown = await db.execute(sql`${sql.raw(KEPT)} select json_agg(r)::text as r from (${query}) r`)
  const [row] = (Array.isArray(answer) ? answer : (answer as { rows: unknown[] }).rows) as { r: string | null }[]
  return row?.r ? (JSON.parse(row.r) as T[]) : []
}

/** The same, row by row: for thousands of them, which a server takes two thirds longer to put into one text. */
export async function askRows<T extends object>(db: Db, query: SQL): Promise<T[]> {
  const answer: unknown = await db.execute(query)
  return (Array.isArray(answer) ? [...answer] : (answer as { rows: T[] }).rows) as T[]
}

/** A moment as milliseconds since 1970: floating, as exact as the columns' milliseconds and a third faster than numeric. */
export const ms = (moment: SQL): SQL => sql`round(date_part('epoch', ${moment}) * 1000)`
