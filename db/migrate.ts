import { join } from 'node:path'
import type { PgliteDatabase } from 'drizzle-orm/pglite'
import { migrate as runLite } from 'drizzle-orm/pglite/migrator'
import { drizzle } from 'drizzle-orm/postgres-js'
import { migrate as runServer } from 'drizzle-orm/postgres-js/migrator'
import postgres from 'postgres'
import type * as schema from './schema.ts'

/** One folder for both databases. Forward only: a file that has landed is never edited. */
export const MIGRATIONS = join(import.meta.dirname, 'migrations')

/** Any fixed number: servers that start at once wait for one of them to migrate. */
const MIGRATION_LOCK = 736_041_207

export function migrateLite(db: PgliteDatabase<typeof schema>): Promise<void> {
  return runLite(db, { migrationsFolder: MIGRATIONS })
}

/** On one connection of its own, because the lock belongs to a connection. A failure ends it and so frees the lock. */
export async function migrateServer(url: string): Promise<void> {
  const one = postgres(url, { max: 1, onnotice: () => {} })
  try {
    await one`select pg_advisory_lock(${MIGRATION_LOCK})`
    await runServer(drizzle(one), { migrationsFolder: MIGRATIONS })
  } finally {
    await one.end()
  }
}
