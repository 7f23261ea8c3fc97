import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addMachines, listMachines, saveMachine } from '../../db/queries/vessels.ts'
import { idParam, machineBody, newMachineBody } from '../bodies.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import type { Booking, Machine } from '../protocol/facts.ts'
import { bookingsFromWire, machineToWire } from '../shapes/cellar.ts'
import { heldVersionOf, stale } from '../version.ts'
import { machineWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { checkBookings, codeTaken } from './bookings.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'
import { checkSite } from './sites.ts'

const machineAnew = z.object({ machine: machineWire, ...anewShape })

export const machines = routes()
  .openapi(
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
  .openapi(
    describe({
      method: 'post',
      path: '/api/machines',
      operationId: 'addMachine',
      tags: ['Machines'],
      summary: 'Add a machine',
      request: { body: takes(newMachineBody) },
      responses: { 201: answers(machineAnew, 'Added') },
    }),
    async (c) => {
      const { opId, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const id = opId ?? newId(c.var.now().epochMilliseconds)
      const stored = await listMachines(db, who.cellarId)
      if (!stored.some((m) => m.id === id)) {
        if (stored.some((m) => m.code === body.code)) throw codeTaken()
        await checkSite(c, body.site)
        const by = { personId: who.personId, at: c.var.now() }
        await db.transaction((tx) => addMachines(tx, who.cellarId, [machineOf(body, id)], by))
      }
      const anew = await planAnew(c)
      return c.json({ machine: await machineNow(c, id), ...anew }, 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/machines/{id}',
      operationId: 'changeMachine',
      tags: ['Machines'],
      summary: 'Change a machine, or book it out: a breakdown is a booking',
      request: { params: idParam('CH'), body: takes(machineBody) },
      responses: { 200: answers(machineAnew, 'As it is now') },
    }),
    async (c) => {
      const { version, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const { id } = c.req.valid('param')
      const stored = await listMachines(db, who.cellarId)
      const before = stored.find((m) => m.id === id)
      if (!before) throw unknown(id)
      if (stored.some((m) => m.code === body.code && m.id !== id)) throw codeTaken()
      await checkSite(c, body.site)
      const held = heldVersionOf(c, version)
      // A press keeps its programs where the change does not speak of them.
      const next = { ...machineOf(body, id), ...(body.press || !before.press ? {} : { press: before.press }) }
      const by = { personId: who.personId, at: c.var.now() }
      const saved = await db.transaction((tx) => saveMachine(tx, who.cellarId, next, held, by))
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await machineNow(c, id)) : unknown(id)
      const stays = (b: Booking) => next.bookings.some((n) => n.fromAt.equals(b.fromAt) && n.toAt.equals(b.toAt))
      const freed = before.bookings.filter((b) => !stays(b))
      const anew = await planAnew(c, who.cellarId, { words: `${before.code} was changed`, freed, asks: true })
      return c.json({ machine: await machineNow(c, id), ...anew }, 200)
    },
  )

const unknown = (id: string) => problem(404, 'unknown-machine', `There is no machine ${id}`)

function machineOf(body: Omit<z.output<typeof newMachineBody>, 'opId'>, id: string): Machine {
  const { bookings, ...rest } = body
  checkBookings(bookings)
  return { id, ...rest, bookings: bookingsFromWire(bookings) }
}

async function machineNow(c: Context<AppEnv>, id: string) {
  const machine = (await listMachines(c.var.db, c.var.who.cellarId)).find((m) => m.id === id)
  if (!machine) throw unknown(id)
  return machineToWire(machine)
}
