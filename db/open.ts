import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import { drizzle as drizzleLite } from 'drizzle-orm/pglite'
import { migrate as migrateLite } from 'drizzle-orm/pglite/migrator'
import { drizzle as drizzleServer } from 'drizzle-orm/postgres-js'
import { migrate as migrateServer } from 'drizzle-orm/postgres-js/migrator'
import postgres from 'postgres'
import { DURABLE_START, DurableFs, syncTree } from './durable-fs.ts'
import { guardTransactions } from './guard.ts'
import { lockFolder } from './lock.ts'
import * as schema from './schema.ts'
import type { Db } from './types.ts'

export interface Opened {
  readonly db: Db
  readonly kind: 'pglite' | 'postgres'
  /** Real fsyncs so far; the embedded database only. */
  readonly syncs: () => number
  /** Calls back for every message on a channel; answers how to stop. */
  readonly listen: (channel: string, heard: (message: string) => void) => Promise<() => Promise<void>>
  readonly close: () => Promise<void>
}

export const MIGRATIONS = join(import.meta.dirname, 'migrations')
/** Any fixed number: servers that start at once wait for one of them to migrate. */
const MIGRATION_LOCK = 736_041_207

/** Opens the server database at `url`, else the folder `dataDir`, and brings its tables up to date. */
export function openDb(where: {
  readonly url?: string | undefined
  readonly dataDir?: string | undefined
}): Promise<Opened> {
  if (where.url) return openServer(where.url)
  if (where.dataDir) return openFolder(where.dataDir)
  throw new Error('openDb needs a url or a dataDir')
}

async function openFolder(dataDir: string): Promise<Opened> {
  const unlock = await lockFolder(dataDir)
  try {
    const pgData = join(dataDir, 'pg')
    const isNew = !existsSync(join(pgData, 'PG_VERSION'))
    const fs = new DurableFs(pgData)
    const lite = await PGlite.create({ fs, startParams: DURABLE_START })
    const db = drizzleLite(guardTransactions(lite), { schema })
    await migrateLite(db, { migrationsFolder: MIGRATIONS })
    if (isNew) {
      await lite.exec('checkpoint')
      syncTree(pgData)
    }
    return {
      db: db as unknown as Db,
      kind: 'pglite',
      syncs: () => fs.syncs,
      listen: async (channel, heard) => {
        const stop = await lite.listen(channel, heard)
        return async () => void (await stop())
      },
      close: async () => {
        await lite.close()
        await unlock()
      },
    }
  } catch (e) {
    await unlock()
    throw e
  }
}

async function openServer(url: string): Promise<Opened> {
  const one = postgres(url, { max: 1, onnotice: () => {} })
  try {
    await one`select pg_advisory_lock(${MIGRATION_LOCK})`
    await migrateServer(drizzleServer(one), { migrationsFolder: MIGRATIONS })
    await one`select pg_advisory_unlock(${MIGRATION_LOCK})`
  } finally {
    await one.end()
  }
  const sql = postgres(url, { max: 10, onnotice: () => {} })
  return {
    db: drizzleServer(sql, { schema }) as unknown as Db,
    kind: 'postgres',
    syncs: () => 0,
    listen: async (channel, heard) => {
      const listening = await sql.listen(channel, heard)
      return () => listening.unlisten()
    },
    close: () => sql.end({ timeout: 5 }),
  }
}
