import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addProtocol, listProtocols, type Protocol, removeProtocol, saveProtocol } from '../../db/queries/protocols.ts'
import { idParam } from '../bodies.ts'
import { heldVersion, line, opId } from '../fields.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import { choices } from '../protocol/choices.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import { heldVersionOf, stale } from '../version.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const protocolWire = z
  .object({ id: z.string(), name: z.string(), choices, version: z.number().int(), changedAt: moment })
  .openapi('Protocol')

const newBody = z
  .strictObject({ opId: opId.optional(), name: line(80), choices: choices.strict() })
  .openapi('NewProtocol', { example: { name: 'House crisp', choices: defaultsFor('crisp') } })
const changeBody = z
  .strictObject({ name: line(80), choices: choices.strict(), version: heldVersion })
  .openapi('ProtocolChange', { example: { name: 'House crisp', choices: defaultsFor('crisp'), version: 1 } })

const toWire = (p: Protocol) => ({ ...p, changedAt: p.changedAt.toString() })

export const protocols = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/protocols',
      operationId: 'listProtocols',
      tags: ['Protocols'],
      summary: 'Sets of answers kept under a name',
      responses: { 200: answers(z.object({ protocols: z.array(protocolWire) }), 'By name') },
    }),
    async (c) => c.json({ protocols: (await listProtocols(c.var.db, c.var.who.cellarId)).map(toWire) }, 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/protocols',
      operationId: 'addProtocol',
      tags: ['Protocols'],
      summary: 'Keep a set of answers under a name',
      request: { body: takes(newBody) },
      responses: { 201: answers(protocolWire, 'Kept') },
    }),
    async (c) => {
      const { opId: op, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const nowAt = c.var.now()
      const id = op ?? newId(nowAt.epochMilliseconds)
      if (!(await listProtocols(db, who.cellarId)).some((p) => p.id === id)) {
        const added = await addProtocol(db, who.cellarId, { id, ...body, changedAt: nowAt })
        if (!added.ok) throw nameTaken()
      }
      return c.json(await protocolFor(c, id), 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/protocols/{id}',
      operationId: 'changeProtocol',
      tags: ['Protocols'],
      summary: 'Change a kept set of answers. Lots that took it keep theirs',
      request: { params: idParam('protocol'), body: takes(changeBody) },
      responses: { 200: answers(protocolWire, 'As it is now') },
    }),
    async (c) => {
      const { version, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const { id } = c.req.valid('param')
      const held = heldVersionOf(c, version)
      const saved = await db.transaction((tx) =>
        saveProtocol(tx, who.cellarId, { id, ...body, changedAt: c.var.now() }, held),
      )
      if (saved.ok) return c.json(await protocolFor(c, id), 200)
      if (saved.why === 'name-taken') throw nameTaken()
      throw saved.why === 'stale' ? stale(c, await protocolFor(c, id)) : unknown(id)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/protocols/{id}',
      operationId: 'removeProtocol',
      tags: ['Protocols'],
      summary: 'Forget a kept set of answers. Lots that took it keep theirs',
      request: { params: idParam('protocol') },
      responses: { 204: { description: 'Gone' } },
    }),
    async (c) => {
      const { id } = c.req.valid('param')
      if (!(await removeProtocol(c.var.db, c.var.who.cellarId, id))) throw unknown(id)
      return c.body(null, 204)
    },
  )

const unknown = (id: string) => problem(404, 'unknown-protocol', `There is no protocol ${id}`)
const nameTaken = () =>
  problem(409, 'name-taken', 'A protocol has this name already', {
    errors: [{ pointer: '#/name', detail: 'is taken' }],
  })

async function protocolFor(c: Context<AppEnv>, id: string) {
  const found = (await listProtocols(c.var.db, c.var.who.cellarId)).find((p) => p.id === id)
  if (!found) throw unknown(id)
  return toWire(found)
}
