import { z } from '@hono/zod-openapi'
import { listMachines } from '../../db/queries/vessels.ts'
import { machineToWire } from '../shapes/cellar.ts'
import { machineWire } from '../wire.ts'
import { answers, describe, routes } from './route.ts'

export const machines = routes().openapi(
  describe({
    method: 'get',
    path: '/api/machines',
    operationId: 'listMachines',
    tags: ['Machines'],
    summary: 'Presses, pumps, filters, chillers and the rest',
    responses: { 200: answers(z.object({ machines: z.array(machineWire) }), 'By id') },
  }),
  async (c) => c.json({ machines: (await listMachines(c.var.db, c.var.who.cellarId)).map(machineToWire) }, 200),
)
