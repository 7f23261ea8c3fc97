import { z } from '@hono/zod-openapi'
import { listLots } from '../../db/queries/lots.ts'
import { listPhases } from '../../db/queries/plans.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { staysByVessel, vesselToWire } from '../shapes/vessel.ts'
import type { Temporal } from '../time.ts'
import { vesselWire } from '../wire.ts'
import { answers, describe, routes } from './route.ts'

export const vessels = routes().openapi(
  describe({
    method: 'get',
    path: '/api/vessels',
    operationId: 'listVessels',
    tags: ['Vessels'],
    summary: 'Every vessel: what is in it, from when it is free, what comes next',
    responses: { 200: answers(z.object({ vessels: z.array(vesselWire) }), 'By id') },
  }),
  async (c) => c.json({ vessels: await vesselsNow(c.var.db, c.var.who.cellarId, c.var.now()) }, 200),
)

/** Vessels with their stays, told from the plan's phases. */
export async function vesselsNow(db: Db, cellarId: string, nowAt: Temporal.Instant) {
  const stored = await listVessels(db, cellarId)
  const stays = staysByVessel(await listPhases(db, cellarId))
  const lotNames = new Map((await listLots(db, cellarId)).map((l) => [l.id, l.name]))
  return stored.map((v) => vesselToWire(v, stays.get(v.code) ?? [], lotNames, nowAt))
}
