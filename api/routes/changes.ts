import { z } from '@hono/zod-openapi'
import { streamSSE } from 'hono/streaming'
import { findPlanRevision } from '../../db/queries/plans.ts'
import type { Trouble } from '../../db/room.ts'
import { describe, routes } from './route.ts'

/** Proxies close silent connections after a minute or so. */
const PING_MS = 25_000

export const changed = routes().openapi(
  describe({
    method: 'get',
    path: '/api/changes',
    operationId: 'watchChanges',
    tags: ['Plan'],
    summary:
      'Server-sent events: `change` with {revision} and `storage` with {trouble}, now and whenever something changed; `planning` with {share, isOver} while a plan takes long',
    responses: { 200: { description: 'A stream of events', content: { 'text/event-stream': { schema: z.string() } } } },
  }),
  (c) =>
    streamSSE(c, async (stream) => {
      const { changes, db, storage, who } = c.var
      const write = (revision: number, id: string) =>
        stream.writeSSE({ event: 'change', data: JSON.stringify({ revision }), id })
      const tell = (trouble: Trouble | undefined) =>
        stream.writeSSE({ event: 'storage', data: JSON.stringify({ trouble: trouble ?? null }) })
      let done: () => void = () => {}
      const ended = new Promise<void>((end) => {
        done = end
      })
      const stop = changes.subscribe(who.cellarId, (change) => void write(change.revision, change.id))
      const unhear = storage.subscribe((trouble) => void tell(trouble))
      const stopPlanning = changes.onPlanning(
        who.cellarId,
        ({ share, isOver }) => void stream.writeSSE({ event: 'planning', data: JSON.stringify({ share, isOver }) }),
      )
      stream.onAbort(done)
      changes.closed.addEventListener('abort', done)
      const ping = setInterval(() => void stream.write(': here\n\n'), PING_MS)
      try {
        await write((await findPlanRevision(db, who.cellarId))?.revision ?? 0, 'now')
        if (storage.trouble()) await tell(storage.trouble())
        await ended
      } finally {
        clearInterval(ping)
        changes.closed.removeEventListener('abort', done)
        unhear()
        stop()
        stopPlanning()
      }
    }),
)
