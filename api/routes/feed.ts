/** The feed that phone calendars read: no cookie, no redirect; wrong and revoked addresses answer alike. */
import { gunzipSync } from 'node:zlib'
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import type { StoredCellar } from '../../db/queries/cellars.ts'
import { type FeedState, findFeedState, noteFetch, type StoredFeed } from '../../db/queries/feeds.ts'
import { listPeople } from '../../db/queries/people.ts'
import { listTasks, type TaskWindow } from '../../db/queries/tasks.ts'
import type { Db } from '../../db/types.ts'
import { acrossCellars, inCellar } from '../../db/wall.ts'
import { isStillGood, takesGzip } from '../feed/conditional.ts'
import { createShelf, type Shelf, type Shelved } from '../feed/shelf.ts'
import { feedTaskOf } from '../feed/task.ts'
import { createTempo } from '../feed/tempo.ts'
import { DAYS_BACK, FEED_LANGUAGES, type FeedSettings, MONTHS_ON } from '../feed/types.ts'
import { writeFeed } from '../feed/write.ts'
import { aside } from '../ops/storage.ts'
import { problem } from '../problem.ts'
import { STEPS } from '../protocol/steps.ts'
import { hashOf, looksLikeSecret } from '../secrets.ts'
import { dayOf, type Temporal } from '../time.ts'
import type { TaskWire } from '../wire.ts'
import { tasksToWire } from './read.ts'
import { type AppEnv, describe, routes } from './route.ts'

/** Readers may ask again after five minutes; their own interval is longer. */
const CACHE = 'private, max-age=300'
/** The last use is written down at most this often. */
const NOTE_MIN = 10

/** A shared address may be read by a whole crew's phones; more than this is a loop. */
const READS = { most: 120, windowMs: 5 * 60_000 }
/** Guessing 128 random bits is hopeless; this only keeps the log and the database quiet. */
const MISSES = { most: 60, windowMs: 15 * 60_000 }

/** @param shelf built bodies, one for each app, so that most readers are answered without building or with 304 */
export function feedFile(shelf: Shelf = createShelf()) {
  const reads = createTempo(READS.most, READS.windowMs)
  const misses = createTempo(MISSES.most, MISSES.windowMs)
  const slowDown = (retryAfterS: number) => {
    if (retryAfterS > 0) throw problem(429, 'too-many', 'Too many requests; wait a little', { retryAfterS })
  }
  return routes().openapi(
    describe({
      method: 'get',
      path: '/feed/{file}',
      operationId: 'readFeed',
      tags: ['Feeds'],
      summary: 'A calendar feed, RFC 5545. The address is the secret',
      request: { params: z.object({ file: z.string().max(100).openapi({ example: 'token.ics' }) }) },
      responses: {
        200: { description: 'The calendar', content: { 'text/calendar': { schema: z.string() } } },
        304: { description: 'What the reader holds is still good' },
      },
    }),
    async (c) => {
      const token = /^(.+)\.ics$/.exec(c.req.valid('param').file)?.[1] ?? ''
      const found = looksLikeSecret(token)
        ? await acrossCellars(() => findFeedState(c.var.db, hashOf(token)))
        : undefined
      const nowMs = c.var.now().epochMilliseconds
      if (!found) {
        slowDown(misses.take(c.var.address, nowMs))
        throw problem(404, 'unknown-feed', 'There is no feed at this address')
      }
      slowDown(reads.take(found.feed.id, nowMs))
      return inCellar(found.feed.cellarId, async () => {
        await note(c, found.feed)
        return send(c, await shelvedFor(c, shelf, found))
      })
    },
  )
}

async function shelvedFor(
  c: Context<AppEnv>,
  shelf: Shelf,
  { feed, cellar, planRevision }: FeedState,
): Promise<Shelved> {
  const nowAt = c.var.now()
  const todayOn = dayOf(nowAt, cellar.zone)
  const state = [planRevision, feed.version, cellar.version, todayOn, c.var.baseUrl].join(' ')
  const found = shelf.find(feed.id, state)
  if (found) return found
  const settings = settingsOf(feed, cellar, todayOn, c.var.baseUrl)
  const tasks = await tasksOf(c.var.db, feed, cellar.units, settings, nowAt)
  const body = writeFeed(tasks.feedTasks, settings, nowAt)
  return shelf.put(feed.id, state, body, tasks.lastModifiedMs)
}

/** The window stands still for a day, so that equal rows give equal bytes. */
function settingsOf(
  feed: StoredFeed,
  cellar: StoredCellar,
  todayOn: Temporal.PlainDate,
  baseUrl: string,
): FeedSettings {
  const begins = (on: Temporal.PlainDate) => on.toZonedDateTime(cellar.zone).toInstant()
  return {
    name: feed.name,
    cellarName: cellar.name,
    zone: cellar.zone,
    language: FEED_LANGUAGES.find((l) => l === feed.language) ?? 'en',
    showDoses: feed.showDoses,
    baseUrl,
    alarmMin: feed.alarmMin,
    fromAt: begins(todayOn.subtract({ days: DAYS_BACK })),
    toAt: begins(todayOn.add({ months: MONTHS_ON })),
  }
}

async function tasksOf(
  db: Db,
  feed: StoredFeed,
  units: StoredCellar['units'],
  settings: FeedSettings,
  nowAt: Temporal.Instant,
) {
  const { fromAt, toAt } = settings
  const stored = await listTasks(db, feed.cellarId, { fromAt, toAt, ...ownerOf(feed) })
  const mine = (await tasksToWire(db, feed.cellarId, stored, nowAt)).filter((t) => belongs(t, feed))
  const people = new Map((await listPeople(db, feed.cellarId)).map((p) => [p.id, p.name]))
  const language = settings.language
  const actions = new Map(
    language === 'fr' || language === 'es' ? STEPS.map((s) => [s.id, s.names[language]] as const) : [],
  )
  const starts = new Map(mine.map((t) => [t.key, t.startAt]))
  return {
    feedTasks: mine.map((t) => feedTaskOf(t, feed.cellarId, starts, { people, actions, units })),
    lastModifiedMs: Math.max(feed.createdAt.epochMilliseconds, ...mine.map((t) => Date.parse(t.changedAt))),
  }
}

/** What the database itself can tell apart. */
const ownerOf = ({ kind, subject }: StoredFeed): Pick<TaskWindow, 'lotId' | 'personId'> =>
  kind === 'person' ? { personId: subject } : kind === 'lot' ? { lotId: subject } : {}

function belongs(task: TaskWire, feed: StoredFeed): boolean {
  if (feed.kind === 'family') return task.family === feed.subject
  if (feed.kind === 'vessels') {
    const codes = new Set(feed.subject.split(','))
    return [...task.fromVessels, ...task.toVessels].some((v) => codes.has(v))
  }
  return true
}

function send(c: Context<AppEnv>, shelved: Shelved): Response {
  const headers: Record<string, string> = {
    'content-type': 'text/calendar; charset=utf-8',
    'cache-control': CACHE,
    'x-robots-tag': 'noindex',
    vary: 'Accept-Encoding',
    etag: shelved.etag,
    'last-modified': new Date(shelved.lastModifiedMs).toUTCString(),
  }
  const held = { ifNoneMatch: c.req.header('if-none-match'), ifModifiedSince: c.req.header('if-modified-since') }
  if (isStillGood(held, shelved.etag, shelved.lastModifiedMs)) return c.body(null, 304, headers)
  if (!takesGzip(c.req.header('accept-encoding')))
    return c.body(new Uint8Array(gunzipSync(shelved.gzipped)), 200, headers)
  return c.body(new Uint8Array(shelved.gzipped), 200, { ...headers, 'content-encoding': 'gzip' })
}

async function note(c: Context<AppEnv>, feed: StoredFeed): Promise<void> {
  const nowAt = c.var.now()
  const soon = feed.lastFetchAt && nowAt.epochMilliseconds - feed.lastFetchAt.epochMilliseconds < NOTE_MIN * 60_000
  if (soon) return
  const client = (c.req.header('user-agent') ?? '').slice(0, 200)
  await aside(c.var.storage, () => noteFetch(c.var.db, feed.cellarId, feed.id, nowAt, client))
}
