import { z } from '@hono/zod-openapi'
import { ping } from '../../db/queries/locks.ts'
import { shownError } from '../log.ts'
import { problem } from '../problem.ts'
import { answers, describe, routes } from './route.ts'

const up = z.object({ ok: z.literal(true) }).openapi('Up')
const ready = z.object({ ok: z.literal(true), storing: z.boolean() }).openapi('Ready')

/** `healthz`: the process answers. `readyz`: the database does too; `storing`: it can also be written to. */
export const health = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/healthz',
      operationId: 'isAlive',
      tags: ['Server'],
      summary: 'The server runs',
      responses: { 200: answers(up, 'It runs') },
    }),
    (c) => c.json({ ok: true as const }, 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/readyz',
      operationId: 'isReady',
      tags: ['Server'],
      summary: 'The server can do its work: its database answers',
      responses: { 200: answers(ready, 'It is ready; where `storing` is false it can only be read') },
    }),
    async (c) => {
      try {
        await ping(c.var.db)
      } catch (error) {
        c.var.storage.met(error)
        c.var.log.error({ requestId: c.var.requestId, ...shownError(error) }, 'database does not answer')
        throw problem(503, 'database-away', 'The database does not answer', { retryAfterS: 5 })
      }
      return c.json({ ok: true as const, storing: c.var.storage.trouble() === undefined }, 200)
    },
  )
