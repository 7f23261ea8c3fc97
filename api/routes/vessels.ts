import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { listLots } from '../../db/queries/lots.ts'
import { listPhases } from '../../db/queries/plans.ts'
import { addVessels, listVessels, saveVessel } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { idParam, newVesselBody, vesselBody } from '../bodies.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import type { Vessel } from '../protocol/facts.ts'
import { bookingsFromWire } from '../shapes/cellar.ts'
import { staysByVessel, vesselToWire } from '../shapes/vessel.ts'
import type { Temporal } from '../time.ts'
import { heldVersionOf, stale } from '../version.ts'
import { vesselWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { checkBookings, codeTaken } from './bookings.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'
import { checkSite } from './sites.ts'

const vesselAnew = z.object({ vessel: vesselWire, ...anewShape })

export const vessels = routes()
  .openapi(
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
  .openapi(
    describe({
      method: 'post',
      path: '/api/vessels',
      operationId: 'addVessel',
      tags: ['Vessels'],
      summary: 'Add a vessel',
      request: { body: takes(newVesselBody) },
      responses: { 201: answers(vesselAnew, 'Added') },
    }),
    async (c) => {
      const { opId, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const id = opId ?? newId(c.var.now().epochMilliseconds)
      const stored = await listVessels(db, who.cellarId)
      if (!stored.some((v) => v.id === id)) {
        if (stored.some((v) => v.code === body.code)) throw codeTaken()
        await checkSite(c, body.site)
        const by = { personId: who.personId, at: c.var.now() }
        await db.transaction((tx) => addVessels(tx, who.cellarId, [vesselOf(body, id)], by))
      }
      const anew = await planAnew(c)
      return c.json({ vessel: await vesselNow(c, id), ...anew }, 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/vessels/{id}',
      operationId: 'changeVessel',
      tags: ['Vessels'],
      summary: 'Change a vessel: its state, its bookings, or take it out of service',
      request: { params: idParam('T01'), body: takes(vesselBody) },
      responses: { 200: answers(vesselAnew, 'As it is now') },
    }),
    async (c) => {
      const { version, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const { id } = c.req.valid('param')
      const stored = await listVessels(db, who.cellarId)
      if (!stored.some((v) => v.id === id)) throw unknown(id)
      if (stored.some((v) => v.code === body.code && v.id !== id)) throw codeTaken()
      await checkSite(c, body.site)
      const held = heldVersionOf(c, version)
      const by = { personId: who.personId, at: c.var.now() }
      const saved = await db.transaction((tx) => saveVessel(tx, who.cellarId, vesselOf(body, id), held, by))
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await vesselNow(c, id)) : unknown(id)
      const anew = await planAnew(c)
      return c.json({ vessel: await vesselNow(c, id), ...anew }, 200)
    },
  )

const unknown = (id: string) => problem(404, 'unknown-vessel', `There is no vessel ${id}`)

function vesselOf(body: Omit<z.output<typeof newVesselBody>, 'opId'>, id: string): Vessel {
  const { bookings, ...rest } = body
  checkBookings(bookings)
  return { id, ...rest, bookings: bookingsFromWire(bookings) }
}

async function vesselNow(c: Context<AppEnv>, id: string) {
  const vessel = (await vesselsNow(c.var.db, c.var.who.cellarId, c.var.now())).find((v) => v.id === id)
  if (!vessel) throw unknown(id)
  return vessel
}

/** Vessels with their stays, told from the plan's phases. */
export async function vesselsNow(db: Db, cellarId: string, nowAt: Temporal.Instant) {
  const stored = await listVessels(db, cellarId)
  const stays = staysByVessel(await listPhases(db, cellarId), stored)
  const lotNames = new Map((await listLots(db, cellarId)).map((l) => [l.id, l.name]))
  return stored.map((v) => vesselToWire(v, stays.get(v.id) ?? [], lotNames, nowAt))
}
