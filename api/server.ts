import type { AddressInfo } from 'node:net'
import { join } from 'node:path'
import { type ServerType, serve } from '@hono/node-server'
import { type Opened, openDb, openReplica } from '../db/open.ts'
import { ownerHasPassword, removeExpired } from '../db/queries/access.ts'
import { listCellars } from '../db/queries/cellars.ts'
import { listPeople } from '../db/queries/people.ts'
import { ROOT } from '../db/root.ts'
import type { Db } from '../db/types.ts'
import { acrossCellars } from '../db/wall.ts'
import { createApp } from './app.ts'
import { type Args, readArgs } from './args.ts'
import { linkAddress, makeLink } from './auth.ts'
import { CHANNEL, type Changes, changeFrom, createChanges } from './changes.ts'
import { clockFrom, type Now, realClock } from './clock.ts'
import { seedDemo } from './demo/seed.ts'
import { databaseFolder, type Env, readEnv } from './env.ts'
import { keepChecked } from './ledger/nightly.ts'
import { rebuildWhereMissing } from './ledger/rebuild.ts'
import { createLog, type Log, shownError } from './log.ts'
import { openDoor } from './ops/door.ts'
import { createMetrics, serveMetrics } from './ops/metrics.ts'
import { refuseMoved } from './ops/move.ts'
import { keepBackups } from './ops/nightly.ts'
import { settledPassphrase } from './ops/passphrase.ts'
import { createStorage, onceStored, type Storage } from './ops/storage.ts'
import { makeBackup } from './ops/store.ts'
import { type Planner, plannerAway, plannerHere } from './planning.ts'
import { plannerTold } from './planning-told.ts'
import { replan } from './replan.ts'
import { rollOn } from './rolling.ts'
import { isBuilt, serveWeb } from './web.ts'

const WEB = join(ROOT, 'dist/web')
const ZONE_OF_DEMO = 'Pacific/Auckland'
const LOOPBACK = new Set(['127.0.0.1', '::1', 'localhost'])
/** Open answers get this long when the server is asked to stop. */
const STOP_MS = 5_000
const LOOK_MS = 5 * 60_000

async function main(): Promise<void> {
  const env = readEnv()
  const args = readArgs(process.argv.slice(2))
  const log = createLog(env.LOG_LEVEL)
  const now = args.atOn ? clockFrom(args.atOn, ZONE_OF_DEMO) : realClock
  const dataDir = databaseFolder(env, args)
  if (!env.DATABASE_URL) refuseMoved(dataDir)
  const opened = await openDb({ url: env.DATABASE_URL, dataDir, unscoped: 'nothing' })
  try {
    await refuseOpenDoor(env, opened.db)
    await firstStart(opened.db, args, now, log)
    const storage = createStorage(opened.trouble, opened.kind === 'pglite')
    storage.subscribe((trouble) => log.warn({ trouble: trouble ?? 'over' }, 'storing'))
    await storage.look()
    const ready = () =>
      acrossCellars(async () => {
        for (const cellar of await listCellars(opened.db)) await rebuildWhereMissing(opened.db, cellar.id)
        await removeExpired(opened.db, now())
      })
    await onceStored(storage, ready, (error) => log.error(shownError(error), 'start'))
    await run(env, args, opened, storage, now, log)
  } catch (error) {
    await opened.close()
    throw error
  }
}

/** Other machines may come in only once an owner can sign in with a password. */
async function refuseOpenDoor(env: Env, db: Db): Promise<void> {
  if (LOOPBACK.has(env.HOST) || env.PUBLISHED_ON_LOOPBACK || (await ownerHasPassword(db))) return
  throw new Error(
    `HOST=${env.HOST} would let other machines in, and no owner has a password yet. ` +
      'Start without HOST, sign in with the link, set a password under You, then start with HOST again.',
  )
}

/** An empty database gets the invented cellar, unless an empty start was asked for. */
async function firstStart(db: Db, args: Args, now: Now, log: Log): Promise<void> {
  if (args.empty || (await listCellars(db)).length > 0) return
  log.info({}, 'filling the empty database with the invented cellar')
  try {
    await seedDemo(db, { nowAt: now(), ...(args.atOn ? { ownDates: true } : {}) })
  } catch (error) {
    // Another server on the same database was first: its cellar is the one.
    if ((await listCellars(db)).length > 0) return
    throw error
  }
  // A planner of its own: what it keeps ready goes with it, and the server's thread makes the next plans.
  const planner = plannerHere()
  for (const cellar of await listCellars(db)) await replan(db, cellar.id, now(), undefined, planner)
}

/** Looks every few minutes whether the clock asks for new plans; the first look is at the start. */
function keepFresh(db: Db, now: Now, planner: Planner, changes: Changes, log: Log): () => void {
  const freshen = async () => {
    const failed = (cellar: string, error: unknown) => log.error({ cellar, ...shownError(error) }, 'planning failed')
    for (const change of await rollOn(db, now(), failed, planner)) changes.publish(change)
  }
  const inPeace = () => void freshen().catch((error: unknown) => log.error(shownError(error), 'planning failed'))
  inPeace()
  const timer = setInterval(inPeace, LOOK_MS)
  return () => clearInterval(timer)
}

async function run(env: Env, args: Args, opened: Opened, storage: Storage, now: Now, log: Log): Promise<void> {
  const changes = createChanges()
  const planner = plannerTold(plannerAway(), changes)
  const unlisten = await opened.listen(CHANNEL, (message) => {
    const change = changeFrom(message)
    if (change) changes.publish(change)
  })
  const port = args.port ?? env.PORT
  const baseUrl = env.PUBLIC_URL
  const metrics = env.METRICS_PORT === undefined ? undefined : createMetrics({ streams: changes.listening })
  const replica = env.DATABASE_READ_URL ? openReplica(env.DATABASE_READ_URL, opened.role) : undefined
  const app = createApp({
    db: opened.db,
    storage,
    now,
    changes,
    planner,
    log,
    demo: args.demo,
    trustedProxies: env.TRUSTED_PROXIES,
    ...(baseUrl ? { baseUrl } : {}),
    ...(metrics ? { metrics } : {}),
    ...(replica ? { readDb: replica.db } : {}),
  })
  if (isBuilt(WEB)) serveWeb(app, WEB)
  else log.warn({}, 'the screens are not built: npm run build')
  const server = await listening(serve({ fetch: app.fetch, hostname: env.HOST, port }))
  const address = baseUrl ?? `http://${env.HOST === '::1' ? '[::1]' : env.HOST}:${portOf(server)}`
  await say(opened.db, address, storage, now)
  const stopFreshening = keepFresh(opened.db, now, planner, changes, log)
  const stopChecking = keepChecked(opened.db, now, log)
  const metricsServer = metrics && env.METRICS_PORT ? await serveMetrics(metrics, env.METRICS_PORT) : undefined
  const stopBackups = await keepSafe(env, args, opened, log)
  stopOnSignal(server, changes, async () => {
    stopFreshening()
    storage.close()
    await planner.close()
    await stopChecking()
    metricsServer?.close()
    await stopBackups()
    await unlisten()
    await replica?.close()
    await opened.close()
  })
}

/** The embedded database is backed up every night, and on demand through its door; a server database where a place is named. */
async function keepSafe(env: Env, args: Args, opened: Opened, log: Log): Promise<() => Promise<void>> {
  const dataDir = databaseFolder(env, args)
  const passphrase = settledPassphrase(env)
  const nightly = env.NIGHTLY_BACKUP ?? (opened.kind === 'pglite' || env.BACKUP_DIR !== undefined)
  const folder = env.BACKUP_DIR ?? join(dataDir, 'backups')
  const plan = async () => {
    const [cellar] = await listCellars(opened.db)
    return cellar && { folder, passphrase, zone: cellar.zone }
  }
  // Backups are dated by the real clock, also where the invented cellar lives on another day.
  const stopNightly = nightly ? keepBackups(opened, plan, realClock, log) : async () => {}
  const closeDoor =
    opened.kind === 'pglite'
      ? await openDoor(dataDir, ({ to, passphrase: own }) => makeBackup(opened, to, own, realClock()))
      : async () => {}
  return async () => {
    await closeDoor()
    await stopNightly()
  }
}

const listening = (server: ServerType) =>
  new Promise<ServerType>((done, fail) => {
    server.once('error', (error: NodeJS.ErrnoException) =>
      fail(
        error.code === 'EADDRINUSE'
          ? new Error('The port is taken. Choose another one: npm start -- --port 8041')
          : error,
      ),
    )
    server.once('listening', () => done(server))
  })

const portOf = (server: ServerType) => (server.address() as AddressInfo).port

/** The address, and a link that signs in the one who runs this: as soon as one can be stored. */
async function say(db: Db, address: string, storage: Storage, now: Now): Promise<void> {
  const [cellar] = await listCellars(db)
  console.log(`\nLeesway runs at ${address}${cellar ? ` with the cellar ${cellar.name}` : ''}.`)
  const sayLink = () => acrossCellars(async () => console.log(await linkWords(db, address, now)))
  if (await onceStored(storage, sayLink, (error) => console.error(String(error)))) return
  console.log('Nothing can be stored just now. What is there can be read; the link that signs you in follows.\n')
}

async function linkWords(db: Db, address: string, now: Now): Promise<string> {
  const [cellar] = await listCellars(db)
  const people = cellar ? await listPeople(db, cellar.id) : []
  const lead = people.find((p) => p.role === 'owner') ?? people.find((p) => p.role === 'winemaker')
  const link = linkAddress(address, await makeLink(db, cellar?.id ?? '', lead?.id ?? null, now()))
  return lead
    ? `Sign in as ${lead.name}, once, within a day:\n  ${link}\n`
    : `Make your cellar, within a day:\n  ${link}\n`
}

/** Ends open streams, lets answers finish, closes the database. A second signal ends at once. */
function stopOnSignal(server: ServerType, changes: Changes, close: () => Promise<void>): void {
  let stopping = false
  const stop = (signal: NodeJS.Signals) => {
    if (stopping) process.exit(1)
    stopping = true
    console.log(`Stopping on ${signal}.`)
    changes.close()
    const late = setTimeout(() => 'closeAllConnections' in server && server.closeAllConnections(), STOP_MS)
    late.unref()
    server.close(() => {
      close()
        .then(() => process.exit(0))
        .catch((error: unknown) => {
          console.error(String(error))
          process.exit(1)
        })
    })
    if ('closeIdleConnections' in server) server.closeIdleConnections()
  }
  process.on('SIGTERM', stop)
  process.on('SIGINT', stop)
}

// What the server does by itself, at its start and through the night, goes through all cellars; a request sees its own.
acrossCellars(main).catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error))
  process.exit(1)
})
