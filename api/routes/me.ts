/** What is one's own: the cellars one works in, the devices one is signed in on. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { endSession, endSessions, listSessions, type SessionsOf } from '../../db/queries/access.ts'
import { listMemberships } from '../../db/queries/accounts.ts'
import { acrossCellars } from '../../db/wall.ts'
import { clientOf, setSession, startSession, whoWith } from '../auth.ts'
import { id } from '../fields.ts'
import { signedIn } from '../me.ts'
import { problem } from '../problem.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'
import { meWire } from './session.ts'

export const sessionWire = z
  .object({
    id: z.string(),
    cellarId: z.string(),
    /** What the browser called itself. */
    client: z.string(),
    proof: z.enum(['link', 'password', 'passkey']),
    createdAt: moment,
    seenAt: moment,
    /** On a phone that several people share. */
    shared: z.boolean(),
    /** The one that asks. */
    here: z.boolean(),
  })
  .openapi('Session')

export const me = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/me/cellar',
      operationId: 'switchCellar',
      tags: ['People'],
      summary: 'Go to another cellar you work in',
      request: { body: takes(z.strictObject({ cellar: id }).openapi('CellarSwitch', { example: { cellar: 'L01' } })) },
      responses: { 200: answers(meWire, 'There') },
    }),
    async (c) => {
      const { who, db } = c.var
      const { cellar } = c.req.valid('json')
      const { accountId, proof } = who
      if (accountId === undefined || proof === 'link') {
        throw problem(409, 'password-needed', 'Sign in with your password to go from one cellar to another', {
          detail: 'A link is good for its own cellar only.',
        })
      }
      const secret = await acrossCellars(async () => {
        const to = (await listMemberships(db, accountId)).find((m) => m.cellarId === cellar)
        if (!to) throw problem(404, 'unknown-cellar', 'There is no such cellar')
        return (await startSession(db, { cellarId: cellar, id: to.personId }, clientOf(c), c.var.now(), proof)).secret
      })
      await setSession(c, secret)
      return c.json(await signedIn(c, await whoWith(c, secret)), 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/me/sessions',
      operationId: 'listMySessions',
      tags: ['People'],
      summary: 'Where you are signed in, the last used first',
      responses: { 200: answers(z.object({ sessions: z.array(sessionWire) }), 'Devices') },
    }),
    async (c) => {
      const found = await acrossCellars(() => listSessions(c.var.db, mine(c), c.var.now()))
      const sessions = found.map((s) => ({
        ...s,
        createdAt: s.createdAt.toString(),
        seenAt: s.seenAt.toString(),
        here: s.id === c.var.who.sessionId,
      }))
      return c.json({ sessions }, 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/me/sessions',
      operationId: 'endMyOtherSessions',
      tags: ['People'],
      summary: 'Sign out everywhere but here',
      responses: { 204: { description: 'Ended' } },
    }),
    async (c) => {
      await acrossCellars(() => endSessions(c.var.db, mine(c), c.var.who.sessionId))
      return c.body(null, 204)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/me/sessions/{id}',
      operationId: 'endMySession',
      tags: ['People'],
      summary: 'Sign out on one device',
      request: { params: z.object({ id }) },
      responses: { 204: { description: 'Ended' } },
    }),
    async (c) => {
      const ended = await acrossCellars(() => endSession(c.var.db, mine(c), c.req.valid('param').id))
      if (!ended) throw problem(404, 'unknown-session', 'This session is over already')
      return c.body(null, 204)
    },
  )

/** A link is good for its own cellar, so it shows no more than that. */
const mine = (c: Context<AppEnv>): SessionsOf => {
  const { accountId, cellarId, personId, proof } = c.var.who
  return accountId === undefined || proof === 'link' ? { cellarId, personId } : { accountId }
}
