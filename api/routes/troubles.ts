import { z } from '@hono/zod-openapi'
import { listStock } from '../../db/queries/contents.ts'
import { listAnswers, listTroubles, recordAnswer, recordTrouble } from '../../db/queries/floor.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { id, moment, opId, prose } from '../fields.ts'
import { problem } from '../problem.ts'
import { TROUBLE_KINDS, type Trouble } from '../protocol/facts.ts'
import { becauseOfTrouble, troubleBody, troubleFrom } from '../troubles.ts'
import { anewShape, planAnew } from './anew.ts'
import { answers, describe, routes, takes } from './route.ts'

const troubleWire = z
  .object({
    id: z.string(),
    kind: z.enum(TROUBLE_KINDS),
    lotId: z.string().optional(),
    lotCode: z.string().optional(),
    vesselCode: z.string().optional(),
    taskKey: z.string().optional(),
    words: z.string(),
    personId: z.string(),
    at: moment,
    answers: z.array(
      z.object({ kind: z.enum(['seen', 'settled']), words: z.string(), personId: z.string(), at: moment }),
    ),
  })
  .openapi('Trouble')

export type TroubleWire = z.infer<typeof troubleWire>

const answerBody = z
  .strictObject({ id: opId, kind: z.enum(['seen', 'settled']), words: prose(500).optional() })
  .openapi('TroubleAnswer', { example: { id: '00000000-0000-4000-8000-000000000000', kind: 'seen' } })

export const troubles = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/troubles',
      operationId: 'listTroubles',
      tags: ['Floor'],
      summary: 'What was reported from the floor, newest first, with who has seen it',
      responses: { 200: answers(z.object({ troubles: z.array(troubleWire) }), 'Newest first') },
    }),
    async (c) => {
      const { db, who } = c.var
      const lots = new Map((await listLots(db, who.cellarId)).map((l) => [l.id, l.code]))
      const vessels = new Map((await listVessels(db, who.cellarId)).map((v) => [v.id, v.code]))
      const told = await listAnswers(db, who.cellarId)
      const found = await listTroubles(db, who.cellarId)
      const toWire = ({ vesselId, at, ...rest }: Trouble): TroubleWire => {
        const lotCode = rest.lotId && lots.get(rest.lotId)
        const vesselCode = vesselId && vessels.get(vesselId)
        return {
          ...rest,
          ...(lotCode ? { lotCode } : {}),
          ...(vesselCode ? { vesselCode } : {}),
          at: at.toString(),
          answers: told
            .filter((a) => a.troubleId === rest.id)
            .map((a) => ({ kind: a.kind, words: a.words, personId: a.personId, at: a.at.toString() })),
        }
      }
      return c.json({ troubles: found.toReversed().map(toWire) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/troubles',
      operationId: 'reportTrouble',
      tags: ['Floor'],
      summary: 'Report smell, leak, foam, heat; the tasks it asks for are raised at once',
      request: { body: takes(troubleBody) },
      responses: { 201: answers(z.object({ id: z.string(), ...anewShape }), 'Kept, with the tasks it raised') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const lots = await listLots(db, who.cellarId)
      const told = troubleFrom(c.req.valid('json'), {
        lots,
        vessels: await listVessels(db, who.cellarId),
        stock: await listStock(db, who.cellarId),
        nowAt,
        personId: who.personId,
      })
      await recordTrouble(db, who.cellarId, told, nowAt)
      const lotCode = lots.find((l) => l.id === told.lotId)?.code
      return c.json({ id: told.id, ...(await planAnew(c, who.cellarId, becauseOfTrouble(told, lotCode))) }, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/troubles/{id}/answers',
      operationId: 'answerTrouble',
      tags: ['Floor'],
      summary: 'Say that a report was seen, or is settled',
      request: { params: z.object({ id }), body: takes(answerBody) },
      responses: { 204: { description: 'Kept' } },
    }),
    async (c) => {
      const { db, who } = c.var
      const troubleId = c.req.valid('param').id
      const body = c.req.valid('json')
      if (!(await listTroubles(db, who.cellarId)).some((t) => t.id === troubleId)) {
        throw problem(404, 'unknown-trouble', 'There is no such report')
      }
      await recordAnswer(db, {
        cellarId: who.cellarId,
        id: body.id,
        troubleId,
        kind: body.kind,
        words: body.words ?? '',
        personId: who.personId,
        at: c.var.now(),
      })
      return c.body(null, 204)
    },
  )
