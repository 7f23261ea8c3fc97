import { z } from '@hono/zod-openapi'
import { listPeople } from '../../db/queries/people.ts'
import { personToWire } from '../shapes/cellar.ts'
import { personWire } from '../wire.ts'
import { answers, describe, routes } from './route.ts'

export const people = routes().openapi(
  describe({
    method: 'get',
    path: '/api/people',
    operationId: 'listPeople',
    tags: ['People'],
    summary: 'Everybody who works here, with shifts and absences',
    responses: { 200: answers(z.object({ people: z.array(personWire) }), 'By id') },
  }),
  async (c) => c.json({ people: (await listPeople(c.var.db, c.var.who.cellarId)).map(personToWire) }, 200),
)
