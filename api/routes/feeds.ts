import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import {
  addFeed,
  findFeed,
  listFeeds,
  renewFeed,
  revokeFeed,
  type StoredFeed,
  saveFeed,
} from '../../db/queries/feeds.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { idParam } from '../bodies.ts'
import { ZONE_DATA_EDITION } from '../env.ts'
import { FEED_LANGUAGES, type FeedLanguage } from '../feed/types.ts'
import { zoneData } from '../feed/zone-data.ts'
import { heldVersion, line, opId } from '../fields.ts'
import { newId } from '../ids.ts'
import { fieldProblem, problem } from '../problem.ts'
import { FAMILIES, type Family } from '../protocol/types.ts'
import { hashOf, newSecret } from '../secrets.ts'
import { heldVersionOf, stale } from '../version.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const KINDS = ['cellar', 'person', 'lot', 'vessels', 'family'] as const

/** Minutes before the start, for work that others wait for; checks and lees work come without. Common practice. */
const USUAL_ALARMS: Partial<Record<Family, number>> = { juice: 30, move: 30, ferment: 15, protect: 30 }

const feedWire = z
  .object({
    id: z.string(),
    kind: z.enum(KINDS),
    subject: z.string(),
    name: z.string(),
    personId: z.string(),
    language: z.string(),
    showDoses: z.boolean(),
    alarmMin: z.partialRecord(z.enum(FAMILIES), z.number()),
    version: z.number().int(),
    createdAt: moment,
    lastFetchAt: moment.optional(),
    lastClient: z.string().optional(),
  })
  .openapi('Feed')

const alarmMin = z.partialRecord(z.enum(FAMILIES), z.number().int().min(0).max(2880))

const body = z
  .strictObject({
    opId: opId.optional(),
    kind: z.enum(KINDS),
    subject: line(400).optional().openapi({
      description:
        'Person id, lot id or code, family, or vessel codes and rows with commas between; absent for the cellar',
      example: 'T01, T02, A',
    }),
    name: line(80).optional(),
    language: z.enum(FEED_LANGUAGES).optional(),
    showDoses: z.boolean().default(false),
    alarmMin: alarmMin.default(USUAL_ALARMS),
  })
  .openapi('NewFeed', { example: { kind: 'cellar', showDoses: false } })

const settings = z
  .strictObject({
    name: line(80),
    language: z.enum(FEED_LANGUAGES),
    showDoses: z.boolean(),
    alarmMin,
    version: heldVersion,
  })
  .openapi('FeedSettings', {
    example: { version: 1, name: 'Cellar plan', language: 'en', showDoses: false, alarmMin: {} },
  })

const zoneDataWire = z
  .object({ edition: z.string(), warning: z.string().optional() })
  .openapi('ZoneData', { description: 'Age of the time zone data, and a warning where the zone changed since' })

const made = z.object({
  feed: feedWire,
  /** Shown once; only its digest is stored. */
  url: z.string(),
  webcal: z.string(),
})

export const feeds = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/feeds',
      operationId: 'listFeeds',
      tags: ['Feeds'],
      summary: 'Calendar feeds: your own; an owner or winemaker sees all',
      responses: { 200: answers(z.object({ feeds: z.array(feedWire), zoneData: zoneDataWire }), 'By age') },
    }),
    async (c) => {
      const { db, who } = c.var
      const found = await listFeeds(db, who.cellarId, leads(c) ? undefined : who.personId)
      const cellar = await findCellar(db, who.cellarId)
      return c.json({ feeds: found.map(toWire), zoneData: zoneData(cellar?.zone ?? 'UTC', ZONE_DATA_EDITION) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/feeds',
      operationId: 'addFeed',
      tags: ['Feeds'],
      summary: 'A private address that a phone calendar reads. Its answer is the only time the address is shown',
      request: { body: takes(body) },
      responses: { 201: answers(made, 'The address') },
    }),
    async (c) => {
      const asked = c.req.valid('json')
      const { db, who } = c.var
      const nowAt = c.var.now()
      const feedId = asked.opId ?? newId(nowAt.epochMilliseconds)
      if (await findFeed(db, who.cellarId, feedId)) {
        throw problem(409, 'already-there', 'This feed is made already; its address was shown once. Make another one')
      }
      const subject = await subjectOf(c, asked)
      const people = await listPeople(db, who.cellarId)
      const mine = people.find((p) => p.id === who.personId)
      const secret = newSecret()
      await addFeed(db, {
        cellarId: who.cellarId,
        id: feedId,
        tokenHash: hashOf(secret),
        kind: asked.kind,
        subject: subject.id,
        name: asked.name ?? subject.name,
        personId: who.personId,
        language: asked.language ?? languageOf(mine?.language),
        showDoses: asked.showDoses,
        alarmMin: asked.alarmMin,
        createdAt: nowAt,
      })
      return c.json(address(c, (await findFeed(db, who.cellarId, feedId))!, secret), 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/feeds/{id}',
      operationId: 'changeFeed',
      tags: ['Feeds'],
      summary: 'Change what a feed shows; its address stays',
      request: { params: idParam('feed'), body: takes(settings) },
      responses: { 200: answers(feedWire, 'As it is now') },
    }),
    async (c) => {
      const { version, ...changed } = c.req.valid('json')
      const feed = await ownFeed(c, c.req.valid('param').id)
      const saved = await saveFeed(c.var.db, feed.cellarId, feed.id, changed, heldVersionOf(c, version))
      const now = await ownFeed(c, feed.id)
      if (!saved.ok) throw stale(c, toWire(now))
      return c.json(toWire(now), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/feeds/{id}/renew',
      operationId: 'renewFeed',
      tags: ['Feeds'],
      summary: 'A new address for a feed; the old one is dead at once',
      request: { params: idParam('feed') },
      responses: { 200: answers(made, 'The new address, shown once') },
    }),
    async (c) => {
      const feed = await ownFeed(c, c.req.valid('param').id)
      const secret = newSecret()
      await renewFeed(c.var.db, feed.cellarId, feed.id, hashOf(secret))
      return c.json(address(c, (await findFeed(c.var.db, feed.cellarId, feed.id))!, secret), 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/feeds/{id}',
      operationId: 'revokeFeed',
      tags: ['Feeds'],
      summary: 'Revoke a feed: its address is dead at once',
      request: { params: idParam('feed') },
      responses: { 204: { description: 'Revoked' } },
    }),
    async (c) => {
      const feed = await ownFeed(c, c.req.valid('param').id)
      await revokeFeed(c.var.db, feed.cellarId, feed.id, c.var.now())
      return c.body(null, 204)
    },
  )

function address(c: Context<AppEnv>, feed: StoredFeed, secret: string) {
  const url = `${c.var.baseUrl}/feed/${secret}.ics`
  return { feed: toWire(feed), url, webcal: url.replace(/^https?:/, 'webcal:') }
}

/** Others' feeds are as unknown as none at all. */
async function ownFeed(c: Context<AppEnv>, feedId: string): Promise<StoredFeed> {
  const found = await findFeed(c.var.db, c.var.who.cellarId, feedId)
  if (!found || (found.personId !== c.var.who.personId && !leads(c))) {
    throw problem(404, 'unknown-feed', `There is no feed ${feedId}`)
  }
  return found
}

const leads = (c: Context<AppEnv>) => c.var.who.role === 'owner' || c.var.who.role === 'winemaker'

const toWire = (f: StoredFeed) => ({
  id: f.id,
  kind: f.kind,
  subject: f.subject,
  name: f.name,
  personId: f.personId,
  language: f.language,
  showDoses: f.showDoses,
  alarmMin: f.alarmMin,
  version: f.version,
  createdAt: f.createdAt.toString(),
  ...(f.lastFetchAt ? { lastFetchAt: f.lastFetchAt.toString() } : {}),
  ...(f.lastClient ? { lastClient: f.lastClient } : {}),
})

const languageOf = (text: string | undefined): FeedLanguage => FEED_LANGUAGES.find((l) => l === text) ?? 'en'

async function subjectOf(
  c: Context<AppEnv>,
  asked: { readonly kind: (typeof KINDS)[number]; readonly subject?: string | undefined },
): Promise<{ id: string; name: string }> {
  const { db, who } = c.var
  if (asked.kind === 'cellar') return { id: '', name: 'Cellar plan' }
  if (asked.subject === undefined) throw fieldProblem('#/subject', `is missing: which ${asked.kind}`)
  if (asked.kind === 'family') {
    const family = FAMILIES.find((f) => f === asked.subject)
    if (!family) throw fieldProblem('#/subject', `must be one of: ${FAMILIES.join(', ')}`)
    return { id: family, name: family }
  }
  if (asked.kind === 'person') {
    const person = (await listPeople(db, who.cellarId)).find((p) => p.id === asked.subject)
    if (!person) throw fieldProblem('#/subject', `is not known: ${asked.subject} is nobody here`)
    return { id: person.id, name: person.name }
  }
  if (asked.kind === 'vessels') {
    const names = asked.subject.split(',').map((t) => t.trim())
    const vessels = await listVessels(db, who.cellarId)
    const unknown = names.filter((n) => !vessels.some((v) => v.code === n || v.row === n))
    if (unknown.length > 0) throw fieldProblem('#/subject', `is not known: no vessel or row ${unknown.join(', ')}`)
    const codes = vessels.filter((v) => names.includes(v.code) || (v.row && names.includes(v.row))).map((v) => v.code)
    return { id: codes.join(','), name: names.join(', ') }
  }
  const lot = (await listLots(db, who.cellarId)).find((l) => l.id === asked.subject || l.code === asked.subject)
  if (!lot) throw fieldProblem('#/subject', `is not known: there is no lot ${asked.subject}`)
  return { id: lot.id, name: `${lot.code} ${lot.name}` }
}
