import { z } from '@hono/zod-openapi'
import { listReadings } from '../../db/queries/records.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { id } from '../fields.ts'
import { readingToWire } from '../shapes/lot.ts'
import { readingWire } from '../wire.ts'
import { answers, describe, routes } from './route.ts'

export const readings = routes().openapi(
  describe({
    method: 'get',
    path: '/api/readings',
    operationId: 'listReadings',
    tags: ['Readings'],
    summary: 'Readings, oldest first: of one lot, or all',
    request: { query: z.object({ lot: id.optional() }) },
    responses: { 200: answers(z.object({ readings: z.array(readingWire) }), 'By time taken') },
  }),
  async (c) => {
    const { db, who } = c.var
    const codes = new Map((await listVessels(db, who.cellarId)).map((v) => [v.id, v.code]))
    const found = await listReadings(db, who.cellarId, c.req.valid('query').lot)
    return c.json({ readings: found.map((r) => readingToWire(r, codes)) }, 200)
  },
)
