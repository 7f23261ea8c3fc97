import { z } from '@hono/zod-openapi'
import { streamSSE } from 'hono/streaming'
import { findPlanRevision } from '../../db/queries/plans.ts'
import { describe, routes } from './route.ts'

/** Proxies close silent connections after a minute or so. */
const PING_MS = 25_000

export const changed = routes().openapi(
  describe({
    method: 'get',
    path: '/api/changes',
    operationId: 'watchChanges',
    tags: ['Plan'],
    summary: 'Server-sent events: `change` with {revision} now and whenever something changed',
    responses: { 200: { description: 'A stream of events', content: { 'text/event-stream': { schema: z.string() } } } },
  }),
  (c) =>
    streamSSE(c, async (stream) => {
      const { changes, db, who } = c.var
      const write = (revision: number, id: string) =>
        stream.writeSSE({ event: 'change', data: JSON.stringify({ revision }), id })
      let done: () => void = () => {}
      const ended = new Promise<void>((end) => {
        done = end
      })
      const stop = changes.subscribe(who.cellarId, (change) => void write(change.revision, change.id))
      stream.onAbort(done)
      changes.closed.addEventListener('abort', done)
      const ping = setInterval(() => void stream.write(': here\n\n'), PING_MS)
      try {
        await write((await findPlanRevision(db, who.cellarId))?.revision ?? 0, 'now')
        await ended
      } finally {
        clearInterval(ping)
        changes.closed.removeEventListener('abort', done)
        stop()
      }
    }),
)
