import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { PgliteDatabase } from 'drizzle-orm/pglite'
import { migrate as runLite } from 'drizzle-orm/pglite/migrator'
import { drizzle } from 'drizzle-orm/postgres-js'
import { migrate as runServer } from 'drizzle-orm/postgres-js/migrator'
import postgres from 'postgres'
import type { Raw } from './raw.ts'
import { ROOT } from './root.ts'
import type * as schema from './schema.ts'
import { raiseWalls } from './wall.ts'

/** One folder for both databases. Forward only: a file that has landed is never edited. */
export const MIGRATIONS = join(ROOT, 'db/migrations')

/** Any fixed number: servers that start at once wait for one of them to migrate. */
const MIGRATION_LOCK = 736_041_207

/** @param count only the first so many: the tables of an older edition, for filling from its backup */
export async function migrateLite(db: PgliteDatabase<typeof schema>, count?: number): Promise<void> {
  await withFolder(count, (migrationsFolder) => runLite(db, { migrationsFolder }))
  await raiseWalls(async (text) => (await db.execute<Record<string, unknown>>(text)).rows)
}

/**
 * On one connection of its own, because the lock belongs to a connection. A failure ends it and so frees the lock.
 *
 * @returns the role the app should work as, where there is one
 */
export async function migrateServer(url: string, count?: number): Promise<string | undefined> {
  const one = postgres(url, { max: 1, onnotice: () => {} })
  try {
    await one`select pg_advisory_lock(${MIGRATION_LOCK})`
    await withFolder(count, (migrationsFolder) => runServer(drizzle(one), { migrationsFolder }))
    return await raiseWalls(async (text) => await one.unsafe(text))
  } finally {
    await one.end()
  }
}

interface Journal {
  readonly entries: readonly { readonly when: number; readonly tag: string }[]
}

const journal = () => JSON.parse(readFileSync(join(MIGRATIONS, 'meta/_journal.json'), 'utf8')) as Journal

/** Names of all migrations this edition knows, in order. */
export const knownTags = (): readonly string[] => journal().entries.map((e) => e.tag)

/** Names of the migrations the open database stands at. */
export async function appliedTags(raw: Raw): Promise<readonly string[]> {
  const applied = await raw.ask<{ when: string }>(
    'select created_at::text as "when" from drizzle.__drizzle_migrations order by created_at',
  )
  const tags = new Map(journal().entries.map((e) => [String(e.when), e.tag]))
  return applied.map(({ when }) => tags.get(when) ?? when)
}

/** The migrator runs whole folders, so a part of one is a folder of its own for as long as it takes. */
async function withFolder(count: number | undefined, run: (folder: string) => Promise<void>): Promise<void> {
  if (count === undefined) return run(MIGRATIONS)
  const folder = mkdtempSync(join(tmpdir(), 'leesway-migrations-'))
  try {
    cpSync(MIGRATIONS, folder, { recursive: true })
    const whole = journal()
    writeFileSync(
      join(folder, 'meta/_journal.json'),
      JSON.stringify({ ...whole, entries: whole.entries.slice(0, count) }),
    )
    await run(folder)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
