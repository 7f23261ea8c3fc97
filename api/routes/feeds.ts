import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addFeed, findFeed, listFeeds, revokeFeed, type StoredFeed } from '../../db/queries/feeds.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import { idParam } from '../bodies.ts'
import { FEED_LANGUAGES, type FeedLanguage } from '../feed/types.ts'
import { id, line, opId } from '../fields.ts'
import { newId } from '../ids.ts'
import { fieldProblem, problem } from '../problem.ts'
import { FAMILIES } from '../protocol/types.ts'
import { hashOf, newSecret } from '../secrets.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const KINDS = ['cellar', 'person', 'lot', 'family'] as const

const feedWire = z
  .object({
    id: z.string(),
    kind: z.enum(['cellar', 'person', 'lot', 'vessels', 'family']),
    subject: z.string(),
    name: z.string(),
    personId: z.string(),
    language: z.string(),
    showDoses: z.boolean(),
    alarmMin: z.partialRecord(z.enum(FAMILIES), z.number()),
    createdAt: moment,
    lastFetchAt: moment.optional(),
    lastClient: z.string().optional(),
  })
  .openapi('Feed')

const body = z
  .strictObject({
    opId: opId.optional(),
    kind: z.enum(KINDS),
    subject: id.optional().openapi({ description: 'Person id, lot id or code, or family; absent for the cellar' }),
    name: line(80).optional(),
    language: z.enum(FEED_LANGUAGES).optional(),
    showDoses: z.boolean().default(false),
    alarmMin: z.partialRecord(z.enum(FAMILIES), z.number().int().min(0).max(2880)).default({}),
  })
  .openapi('NewFeed', { example: { kind: 'cellar', showDoses: false, alarmMin: {} } })

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
      responses: { 200: answers(z.object({ feeds: z.array(feedWire) }), 'By age') },
    }),
    async (c) => {
      const { db, who } = c.var
      const found = await listFeeds(db, who.cellarId, leads(c) ? undefined : who.personId)
      return c.json({ feeds: found.map(toWire) }, 200)
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
      const { db, who, baseUrl } = c.var
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
      const url = `${baseUrl}/feed/${secret}.ics`
      const stored = await findFeed(db, who.cellarId, feedId)
      return c.json({ feed: toWire(stored!), url, webcal: url.replace(/^https?:/, 'webcal:') }, 201)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/feeds/{id}',
      operationId: 'revokeFeed',
      tags: ['Feeds'],
      summary: 'Revoke a feed: its address is dead at once',
      request: { params: idParam },
      responses: { 204: { description: 'Revoked' } },
    }),
    async (c) => {
      const { db, who } = c.var
      const { id: feedId } = c.req.valid('param')
      const found = await findFeed(db, who.cellarId, feedId)
      if (!found || (found.personId !== who.personId && !leads(c))) {
        throw problem(404, 'unknown-feed', `There is no feed ${feedId}`)
      }
      await revokeFeed(db, who.cellarId, feedId, c.var.now())
      return c.body(null, 204)
    },
  )

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
  const lot = (await listLots(db, who.cellarId)).find((l) => l.id === asked.subject || l.code === asked.subject)
  if (!lot) throw fieldProblem('#/subject', `is not known: there is no lot ${asked.subject}`)
  return { id: lot.id, name: `${lot.code} ${lot.name}` }
}
