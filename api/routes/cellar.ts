import { findCellar } from '../../db/queries/cellars.ts'
import { findPlanRevision } from '../../db/queries/plans.ts'
import { problem } from '../problem.ts'
import { cellarToWire } from '../shapes/cellar.ts'
import { cellarWire } from '../wire.ts'
import { answers, describe, routes } from './route.ts'

export const cellar = routes().openapi(
  describe({
    method: 'get',
    path: '/api/cellar',
    operationId: 'getCellar',
    tags: ['Cellar'],
    summary: 'The cellar: its name, zone, units, holidays, and its clock',
    responses: { 200: answers(cellarWire, 'The cellar') },
  }),
  async (c) => {
    const { db, who } = c.var
    const found = await findCellar(db, who.cellarId)
    if (!found) throw problem(404, 'not-found', 'There is no such cellar')
    const plan = await findPlanRevision(db, who.cellarId)
    return c.json(cellarToWire(found, c.var.now(), plan?.revision ?? 0), 200)
  },
)
