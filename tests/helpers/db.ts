import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import type { sql } from 'drizzle-orm'
import { drizzle } from 'drizzle-orm/pglite'
import postgres from 'postgres'
import { inject } from 'vitest'
import { DURABLE_START, DurableFs } from '../../db/durable-fs.ts'
import { finishFolder } from '../../db/folder.ts'
import { guardTransactions } from '../../db/guard.ts'
import { migrateLite } from '../../db/migrate.ts'
import { MIGRATIONS, openDb } from '../../db/open.ts'
import * as schema from '../../db/schema.ts'
import type { Db } from '../../db/types.ts'

export const KIND = process.env.TEST_DATABASE === 'postgres' ? 'postgres' : 'pglite'

export interface TestDb {
  readonly db: Db
  /** The server's address; the embedded database has none. */
  readonly url?: string
  readonly close: () => Promise<void>
}

const SHARED = Symbol.for('leesway.tests.db')
const shelf = globalThis as { [SHARED]?: Promise<TestDb> }

/** One database a worker, with the tables and no rows: starting one is slow, so all files share it. */
export async function sharedDb(): Promise<Db> {
  shelf[SHARED] ??= ownDb()
  return (await shelf[SHARED]).db
}

/** What a test writes here is rolled back, so tests do not see each other. */
export const withDb = async <T>(test: (db: Db) => Promise<T>): Promise<T> => rolledBack(await sharedDb(), test)

export async function rolledBack<T>(db: Db, test: (db: Db) => Promise<T>): Promise<T> {
  const takenBack = new Error('rolled back')
  let answer: { readonly value: T } | undefined
  await db
    .transaction(async (tx) => {
      answer = { value: await test(tx) }
      throw takenBack
    })
    .catch((error: unknown) => {
      if (error !== takenBack) throw error
    })
  return answer!.value
}

let made = 0
/** A cellar id of its own, for tests that need real commits. */
export const freshId = (stem = 'cellar') => `${stem}-${process.pid}-${++made}`

/** A whole database for one test: for first starts, locks between connections, races. Close it. */
export async function ownDb(): Promise<TestDb> {
  return KIND === 'postgres' ? ownServerDb() : ownLite()
}

async function ownServerDb(): Promise<TestDb> {
  const { url, drop } = await emptyServerDb()
  const opened = await openDb({ url })
  return {
    db: opened.db,
    url,
    close: async () => {
      await opened.close()
      await drop()
    },
  }
}

/** A database on the test server without any table yet. */
export async function emptyServerDb(): Promise<{ readonly url: string; readonly drop: () => Promise<void> }> {
  const name = freshId('leesway').replaceAll('-', '_')
  const main = inject('databaseUrl')
  const admin = async (text: string) => {
    const one = postgres(main, { max: 1, onnotice: () => {} })
    await one.unsafe(text)
    await one.end()
  }
  await admin(`create database ${name}`)
  const url = new URL(main)
  url.pathname = `/${name}`
  return { url: url.toString(), drop: () => admin(`drop database if exists ${name} with (force)`) }
}

async function ownLite(): Promise<TestDb> {
  const lite = await PGlite.create({ loadDataDir: new Blob([new Uint8Array(await template())]) })
  const db = drizzle(guardTransactions(lite), { schema }) as unknown as Db
  return { db, close: () => lite.close() }
}

/** A folder such as `openDb` makes, in a third of the time. */
export async function makeFolder(dataDir: string): Promise<void> {
  const pgData = join(dataDir, 'pg')
  mkdirSync(dataDir, { recursive: true })
  const lite = await PGlite.create({
    fs: new DurableFs(pgData),
    startParams: DURABLE_START,
    loadDataDir: new Blob([new Uint8Array(await template())]),
  })
  await lite.close()
  finishFolder(pgData)
}

/** A migrated, empty database as a file: loading it takes a third of the time of making one. Named after what made it. */
async function template(): Promise<Buffer> {
  const folder = join(import.meta.dirname, '../.results')
  const path = join(folder, `template-${fingerprint()}.tar.gz`)
  if (!existsSync(path)) {
    const lite = await PGlite.create()
    await migrateLite(drizzle(lite, { schema }))
    const dump = await lite.dumpDataDir('gzip')
    await lite.close()
    mkdirSync(folder, { recursive: true })
    // Renamed into place: another worker never reads half a file.
    const whole = `${path}.${process.pid}`
    writeFileSync(whole, Buffer.from(await dump.arrayBuffer()))
    renameSync(whole, path)
  }
  return readFileSync(path)
}

function fingerprint(): string {
  const hash = createHash('sha256')
  const version = join(import.meta.dirname, '../../node_modules/@electric-sql/pglite/package.json')
  hash.update(readFileSync(version))
  hash.update(readFileSync(join(MIGRATIONS, '../wall.ts')))
  for (const file of readdirSync(MIGRATIONS)
    .filter((f) => f.endsWith('.sql'))
    .sort()) {
    hash.update(readFileSync(join(MIGRATIONS, file)))
  }
  return hash.digest('hex').slice(0, 16)
}

/** Raw rows, the same from both drivers. */
export async function rows<T extends object>(db: Db, query: ReturnType<typeof sql>): Promise<T[]> {
  const answer: unknown = await db.execute(query)
  return (Array.isArray(answer) ? [...answer] : (answer as { rows: T[] }).rows) as T[]
}
