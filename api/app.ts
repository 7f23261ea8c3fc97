import { bodyLimit } from 'hono/body-limit'
import type { Db } from '../db/types.ts'
import { unruled } from './access.ts'
import { callerOf, trusting } from './address.ts'
import { createSignInLimits } from './attempts.ts'
import { identify } from './auth.ts'
import type { Changes } from './changes.ts'
import { allowed, headers, logged, measured, sameSite, shallow, smaller } from './guards.ts'
import { type Log, quiet, shownError } from './log.ts'
import type { Metrics } from './ops/metrics.ts'
import { fromReplica } from './ops/replica.ts'
import { alwaysStored, type Storage, storable } from './ops/storage.ts'
import { type Planner, plannerHere } from './planning.ts'
import { answerProblem, problem } from './problem.ts'
import { absences } from './routes/absences.ts'
import { acts } from './routes/acts.ts'
import { answers } from './routes/answers.ts'
import { calc } from './routes/calc.ts'
import { cellar } from './routes/cellar.ts'
import { changed } from './routes/changes.ts'
import { demand } from './routes/demand.ts'
import { device } from './routes/device.ts'
import { exports } from './routes/export.ts'
import { feedFile } from './routes/feed.ts'
import { feeds } from './routes/feeds.ts'
import { handovers } from './routes/handovers.ts'
import { health } from './routes/health.ts'
import { imports } from './routes/import.ts'
import { invitations } from './routes/invitations.ts'
import { language } from './routes/language.ts'
import { leaving } from './routes/leaving.ts'
import { ledger } from './routes/ledger.ts'
import { ledgerBooks } from './routes/ledger-books.ts'
import { ledgerEntries } from './routes/ledger-entries.ts'
import { lotChoices } from './routes/lot-choices.ts'
import { lotEdit } from './routes/lot-edit.ts'
import { lots } from './routes/lots.ts'
import { machines } from './routes/machines.ts'
import { me } from './routes/me.ts'
import { serveOpenApi } from './routes/openapi.ts'
import { operations } from './routes/operations.ts'
import { outside } from './routes/outside.ts'
import { passkeys } from './routes/passkeys.ts'
import { password } from './routes/password.ts'
import { people } from './routes/people.ts'
import { photos } from './routes/photos.ts'
import { plan } from './routes/plan.ts'
import { preview } from './routes/preview.ts'
import { proposals } from './routes/proposals.ts'
import { protocols } from './routes/protocols.ts'
import { readings } from './routes/readings.ts'
import { record } from './routes/record.ts'
import { routes } from './routes/route.ts'
import { session } from './routes/session.ts'
import { taskFile } from './routes/task-file.ts'
import { tasks } from './routes/tasks.ts'
import { trials } from './routes/trials.ts'
import { troubles } from './routes/troubles.ts'
import { vessels } from './routes/vessels.ts'
import { newSecret } from './secrets.ts'
import type { Temporal } from './time.ts'

/** What the app stands on. Nothing else comes from outside: no clock, no environment. */
export interface Deps {
  readonly db: Db
  readonly now: () => Temporal.Instant
  readonly changes: Changes
  readonly log?: Log
  /** Whether anything can be stored just now. */
  readonly storage?: Storage
  /** Who makes the plans; absent: this thread. */
  readonly planner?: Planner
  /** The invented cellar runs here. */
  readonly demo?: boolean
  /** Figures for operators, where they are wanted. */
  readonly metrics?: Pick<Metrics, 'answered'>
  /** A copy of the database that may be a moment behind: what is read in bulk comes from it. */
  readonly readDb?: Db
  /** How long a plan waits for more to come from phones, ms. */
  readonly planAfterMs?: number
  /** Addresses and ranges of proxies whose X-Forwarded-For is believed. */
  readonly trustedProxies?: readonly string[]
  /** The address people type, without a slash at the end. Absent: what the request says. */
  readonly baseUrl?: string
}

/** Phones that come back to a signal come together, each with several batches. */
const PLAN_AFTER_MS = 300

const KIB = 1024
const BODY_MAX = 256 * KIB
const IMPORT_MAX = 5 * 1024 * KIB

const tooLarge = () => {
  throw problem(413, 'too-large', 'The request is too large', {
    detail: 'At most 256 KiB; an import at most 5 MiB.',
  })
}

/** Every route in one chain, so that its types reach the web. */
export function createApp(deps: Deps) {
  const app = routes()
  const tries = createSignInLimits()
  const storage = deps.storage ?? alwaysStored
  const isTrusted = trusting(deps.trustedProxies ?? [])
  const planner = deps.planner ?? plannerHere()
  app.use(async (c, next) => {
    const url = new URL(c.req.url)
    const baseUrl = deps.baseUrl ?? url.origin
    c.set('db', deps.db)
    c.set('now', deps.now)
    c.set('changes', deps.changes)
    c.set('planner', planner)
    c.set('log', deps.log ?? quiet)
    c.set('demo', deps.demo ?? false)
    c.set('planAfterMs', deps.planAfterMs ?? PLAN_AFTER_MS)
    c.set('storage', storage)
    c.set('tries', tries)
    c.set('requestId', newSecret().slice(0, 16))
    c.set('baseUrl', baseUrl)
    c.set('secure', baseUrl.startsWith('https:'))
    c.set('address', callerOf(remoteOf(c.env), c.req.header('x-forwarded-for'), isTrusted))
    await next()
  })
  if (deps.metrics) app.use(measured(deps.metrics))
  app.use(logged, headers, smaller)
  app.use('/api/import/*', bodyLimit({ maxSize: IMPORT_MAX, onError: tooLarge }))
  app.use(async (c, next) =>
    c.req.path.startsWith('/api/import/') ? next() : bodyLimit({ maxSize: BODY_MAX, onError: tooLarge })(c, next),
  )
  app.use(sameSite, storable, identify, allowed, shallow)
  if (deps.readDb) app.use(fromReplica(deps.readDb, deps.changes))
  app.onError((error, c) => {
    storage.met(error)
    const answer = answerProblem(error, c)
    // Who closed the request while it was planned for is told nothing.
    const isClosed = c.req.raw.signal.aborted
    if (answer.status >= 500 && !isClosed)
      c.get('log')?.error({ requestId: c.get('requestId'), ...shownError(error) }, 'broke')
    return answer
  })
  app.notFound((c) => answerProblem(missing(app.routes, c.req.method, c.req.path), c))

  const all = app
    .route('/', health)
    .route('/', session)
    .route('/', password)
    .route('/', me)
    .route('/', passkeys)
    .route('/', device)
    .route('/', cellar)
    .route('/', people)
    .route('/', absences)
    .route('/', invitations)
    .route('/', leaving)
    .route('/', vessels)
    .route('/', machines)
    .route('/', lots)
    .route('/', lotEdit)
    .route('/', lotChoices)
    .route('/', protocols)
    .route('/', plan)
    .route('/', demand)
    .route('/', tasks)
    .route('/', acts)
    .route('/', preview)
    .route('/', trials)
    .route('/', proposals)
    .route('/', answers)
    .route('/', ledger)
    .route('/', ledgerEntries)
    .route('/', ledgerBooks)
    .route('/', readings)
    .route('/', operations)
    .route('/', record)
    .route('/', photos)
    .route('/', troubles)
    .route('/', handovers)
    .route('/', language)
    .route('/', calc)
    .route('/', imports)
    .route('/', exports)
    .route('/', feeds)
    .route('/', feedFile())
    .route('/', outside)
    .route('/', taskFile)
    .route('/', changed)
  serveOpenApi(all)
  const { withoutRule } = unruled(all.routes)
  if (withoutRule.length > 0) throw new Error(`no rule in the access table for: ${withoutRule.join(', ')}`)
  return all
}

export type App = ReturnType<typeof createApp>

/** 405 where the path exists under other methods, else 404. */
function missing(all: readonly { method: string; path: string }[], method: string, path: string) {
  const allow = all
    .filter((r) => r.method !== 'ALL' && fits(r.path, path))
    .map((r) => r.method)
    .filter((m, i, list) => list.indexOf(m) === i)
  if (allow.length > 0 && !allow.includes(method)) {
    return problem(405, 'method-not-allowed', `${method} cannot be done here`, { allow })
  }
  return problem(404, 'not-found', 'There is nothing here')
}

const fits = (pattern: string, path: string) =>
  new RegExp(`^${pattern.replace(/[.*+?^${}()|[\]\\]/g, '\\$&').replace(/:[A-Za-z]+/g, '[^/]+')}$`).test(path)

/** The far end of the connection, where the server tells it. */
function remoteOf(env: unknown): string | undefined {
  const incoming = (env as { incoming?: { socket?: { remoteAddress?: string } } } | undefined)?.incoming
  return incoming?.socket?.remoteAddress
}
