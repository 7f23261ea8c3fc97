import { z } from '@hono/zod-openapi'
import {
  findHandover,
  listHandoverReads,
  listHandovers,
  recordHandover,
  recordHandoverRead,
} from '../../db/queries/floor.ts'
import { id, moment, opId, prose } from '../fields.ts'
import { refuseFar, refuseFuture } from '../moments.ts'
import { fieldProblem, problem } from '../problem.ts'
import { Temporal } from '../time.ts'
import { answers, describe, routes, takes } from './route.ts'

const handoverWire = z
  .object({
    id: z.string(),
    words: z.string(),
    personId: z.string(),
    at: moment,
    readBy: z.array(z.object({ personId: z.string(), at: moment })),
  })
  .openapi('Handover')

export type HandoverWire = z.infer<typeof handoverWire>

const handoverBody = z
  .strictObject({ id: opId, words: prose(2000), at: moment.optional() })
  .openapi('NewHandover', { example: { id: '00000000-0000-4000-8000-000000000000', words: 'T03 chills until 23:00' } })

/** A shift reads what the shifts of the last days left. */
const SHOWN_DAYS = 3

export const handovers = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/handovers',
      operationId: 'listHandovers',
      tags: ['Floor'],
      summary: 'What the last shifts left for the next, newest first, and who has read it',
      responses: { 200: answers(z.object({ handovers: z.array(handoverWire) }), 'Newest first') },
    }),
    async (c) => {
      const { db, who } = c.var
      const found = await listHandovers(db, who.cellarId, c.var.now().subtract({ hours: 24 * SHOWN_DAYS }))
      const reads = await listHandoverReads(
        db,
        who.cellarId,
        found.map((h) => h.id),
      )
      const toWire = (row: (typeof found)[number]): HandoverWire => ({
        id: row.id,
        words: row.words,
        personId: row.personId,
        at: row.at.toString(),
        readBy: reads
          .filter((r) => r.handoverId === row.id)
          .map((r) => ({ personId: r.personId, at: r.at.toString() })),
      })
      return c.json({ handovers: found.map(toWire) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/handovers',
      operationId: 'writeHandover',
      tags: ['Floor'],
      summary: 'Leave a note for the next shift',
      request: { body: takes(handoverBody) },
      responses: { 201: answers(z.object({ id: z.string() }), 'Kept; the same id again answers the same') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const body = c.req.valid('json')
      if (!body.words.trim()) throw fieldProblem('#/words', 'is missing: what the next shift should know')
      const at = body.at ? Temporal.Instant.from(body.at) : nowAt
      refuseFuture(at, nowAt, '#/at')
      refuseFar(at, nowAt, '#/at')
      await recordHandover(db, {
        cellarId: who.cellarId,
        id: body.id,
        words: body.words,
        personId: who.personId,
        at,
        writtenAt: nowAt,
      })
      return c.json({ id: body.id }, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/handovers/{id}/read',
      operationId: 'readHandover',
      tags: ['Floor'],
      summary: 'I have read this note',
      request: { params: z.object({ id }) },
      responses: { 204: { description: 'Kept' } },
    }),
    async (c) => {
      const { db, who } = c.var
      const handoverId = c.req.valid('param').id
      if (!(await findHandover(db, who.cellarId, handoverId))) {
        throw problem(404, 'unknown-handover', 'There is no such note')
      }
      await recordHandoverRead(db, who.cellarId, handoverId, who.personId, c.var.now())
      return c.body(null, 204)
    },
  )
