import { join } from 'node:path'
import { sql } from 'drizzle-orm'
import { drizzle as drizzleLite } from 'drizzle-orm/pglite'
import { drizzle as drizzleServer } from 'drizzle-orm/postgres-js'
import postgres from 'postgres'
import { openEmbedded } from './embedded.ts'
import { finishFolder, prepareFolder } from './folder.ts'
import { guardTransactions } from './guard.ts'
import { lockFolder } from './lock.ts'
import { migrateLite, migrateServer } from './migrate.ts'
import { createPool } from './pool.ts'
import { rawLite, rawServer, type WithRaw } from './raw.ts'
import { codeOf, lookAtDisk, type Trouble, troubleOfCode } from './room.ts'
import * as schema from './schema.ts'
import type { Db } from './types.ts'
import { standIn, type Unscoped } from './wall.ts'

export { MIGRATIONS } from './migrate.ts'

export interface Opened {
  readonly db: Db
  readonly kind: 'pglite' | 'postgres'
  /** Whether row-level security holds the app back. */
  readonly walled: boolean
  /** The role it works as on a server database. */
  readonly role?: string | undefined
  /** Real fsyncs so far; the embedded database only. */
  readonly syncs: () => number
  /** Calls back for every message on a channel; answers how to stop. */
  readonly listen: (channel: string, heard: (message: string) => void) => Promise<() => Promise<void>>
  /** Whole tables out and in, for backups. */
  readonly raw: WithRaw
  /** Looks what keeps it from being written to, if anything does. */
  readonly trouble: () => Promise<Trouble | undefined>
  readonly close: () => Promise<void>
}

/** Opens the server database at `url`, else the folder `dataDir`, and brings its tables up to date. */
export function openDb(where: {
  readonly url?: string | undefined
  readonly dataDir?: string | undefined
  /** Only the tables of an older edition; see {@link migrateLite}. */
  readonly migrations?: number | undefined
  /** What a query sees that says no cellar; tools see everything. */
  readonly unscoped?: Unscoped | undefined
}): Promise<Opened> {
  if (where.url) return openServer(where.url, where.migrations, where.unscoped)
  if (where.dataDir) return openFolder(where.dataDir, where.migrations)
  throw new Error('openDb needs a url or a dataDir')
}

async function openFolder(dataDir: string, migrations?: number): Promise<Opened> {
  const unlock = await lockFolder(dataDir)
  try {
    const pgData = join(dataDir, 'pg')
    const isNew = prepareFolder(pgData)
    const embedded = await openEmbedded(pgData)
    const db = drizzleLite(guardTransactions(embedded.client), { schema })
    await migrateLite(db, migrations)
    if (isNew) {
      await embedded.client.exec('checkpoint')
      finishFolder(pgData)
    }
    return {
      db: db as unknown as Db,
      kind: 'pglite',
      walled: false,
      syncs: embedded.syncs,
      listen: embedded.listen,
      raw: rawLite(embedded.client),
      trouble: async () => embedded.trouble() ?? lookAtDisk(dataDir),
      close: async () => {
        await embedded.close()
        await unlock()
      },
    }
  } catch (e) {
    const trouble = lookAtDisk(dataDir)
    await unlock()
    throw trouble ? new Error(NO_START[trouble](dataDir), { cause: e }) : e
  }
}

/** Opening writes a little, so it needs what writing needs. */
const NO_START: Readonly<Record<Trouble, (folder: string) => string>> = {
  'storage-full': (folder) =>
    `The disk of ${folder} is full: free 64 MiB of it and start again. Nothing there was lost.`,
  'storage-read-only': (folder) => `The disk of ${folder} cannot be written to. Mend that and start again.`,
  'database-away': (folder) => `The database in ${folder} does not answer. Start again.`,
}

/** A copy of a server database that others write: nothing is migrated, nothing listened to. */
export function openReplica(url: string, role: string | undefined): Pick<Opened, 'db' | 'close'> {
  const { db, close } = connect(url, role, 'nothing')
  return { db, close }
}

/** Most connections of one process to a server database. */
const MOST = 10

/** Moments are read as ISO text, so how the server prefers to write them must not matter. */
function connect(url: string, role: string | undefined, unscoped: Unscoped) {
  const client = postgres(url, {
    max: 1,
    onnotice: () => {},
    // Short questions by keys: compiling one takes longer than answering it.
    connection: { TimeZone: 'UTC', DateStyle: 'ISO', jit: false, ...(role ? { role } : {}) },
    // A database that was away for a moment is asked again within a second; one that does not answer is given up soon.
    backoff: (tries: number) => Math.min(0.1 * 2 ** tries, 1),
    connect_timeout: 5,
    max_lifetime: null,
  })
  // The parsed options are shared, so what the query builder sets on one client holds for all.
  const pool = createPool((onclose) => postgres({ ...client.options, onclose } as unknown as Options), MOST)
  return {
    client,
    db: drizzleServer(guardTransactions(standIn(client, pool, unscoped)), { schema }) as unknown as Db,
    close: async () => {
      await pool.end()
      await client.end({ timeout: 5 })
    },
  }
}

type Options = NonNullable<Parameters<typeof postgres>[0]>

async function openServer(url: string, migrations?: number, unscoped: Unscoped = 'everything'): Promise<Opened> {
  const role = await migrateServer(url, migrations)
  const { client, db, close } = connect(url, role, unscoped)
  return {
    db,
    kind: 'postgres',
    walled: role !== undefined,
    role,
    syncs: () => 0,
    listen: async (channel, heard) => {
      const listening = await client.listen(channel, heard)
      return () => listening.unlisten()
    },
    raw: rawServer(url),
    trouble: () => troubleOfServer(db),
    close,
  }
}

/** Some 1 MiB that grows a file of the database and is gone with its transaction. Random, so that it is not made smaller. */
const GROW = sql`
  create temporary table leesway_room on commit drop as
  select md5(random()::text || n) || md5(random()::text) as noise from generate_series(1, 8000) n`

async function troubleOfServer(db: Db): Promise<Trouble | undefined> {
  try {
    await db.transaction((tx) => tx.execute(GROW))
    return undefined
  } catch (error) {
    // A role that may make no such table has to find out by writing.
    return troubleOfCode(codeOf(error))
  }
}
