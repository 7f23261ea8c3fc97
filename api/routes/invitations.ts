/** Links that sign somebody in once: made, shown as a QR code, listed, revoked. */
import { z } from '@hono/zod-openapi'
import { listInvitations, revokeInvitation } from '../../db/queries/access.ts'
import { findPerson } from '../../db/queries/people.ts'
import { linkAddress, makeLink } from '../auth.ts'
import { idParam } from '../bodies.ts'
import { problem } from '../problem.ts'
import { moment } from '../wire.ts'
import { answers, describe, routes, takes } from './route.ts'

const HOURS = { usual: 1, most: 24 }

const newLink = z
  .strictObject({
    hours: z.number().int().min(1).max(HOURS.most).default(HOURS.usual).openapi({
      description: 'How long it works. A code on a screen is used at once; a link that is sent may need the day',
    }),
  })
  .openapi('NewInvitation', { example: { hours: 1 } })

const invitationWire = z
  .object({
    id: z.string(),
    personId: z.string(),
    /** Who made it; absent where the server printed it at its start. */
    madeBy: z.string().optional(),
    createdAt: moment,
    expiresAt: moment,
  })
  .openapi('Invitation')

export const invitations = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/people/{id}/link',
      operationId: 'invitePerson',
      tags: ['People'],
      summary: 'A link that signs this person in once; to be shown as a QR code',
      request: { params: idParam('kim'), body: { ...takes(newLink), required: false } },
      responses: { 201: answers(z.object({ link: z.string(), expiresAt: moment }), 'Shown once') },
    }),
    async (c) => {
      const { db, who, baseUrl } = c.var
      const { id } = c.req.valid('param')
      const { hours = HOURS.usual } = c.req.valid('json') ?? {}
      const nowAt = c.var.now()
      const person = await findPerson(db, who.cellarId, id)
      if (!person) throw problem(404, 'unknown-person', `There is no person ${id}`)
      if (person.removedAt) throw problem(409, 'removed', `${person.name} is not here any more. Bring them back first`)
      if (person.role === 'owner' && who.role !== 'owner') {
        throw problem(403, 'not-allowed', 'Only an owner may make a link for an owner')
      }
      const secret = await makeLink(db, who.cellarId, person.id, nowAt, who.personId, hours)
      return c.json({ link: linkAddress(baseUrl, secret), expiresAt: nowAt.add({ hours }).toString() }, 201)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/invitations',
      operationId: 'listInvitations',
      tags: ['People'],
      summary: 'Links that still sign somebody in, the newest first',
      responses: { 200: answers(z.object({ invitations: z.array(invitationWire) }), 'Open ones') },
    }),
    async (c) => {
      const open = await listInvitations(c.var.db, c.var.who.cellarId, c.var.now())
      const shown = open.map(({ madeBy, ...one }) => ({
        ...one,
        ...(madeBy === null ? {} : { madeBy }),
        createdAt: one.createdAt.toString(),
        expiresAt: one.expiresAt.toString(),
      }))
      return c.json({ invitations: shown }, 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/invitations/{id}',
      operationId: 'revokeInvitation',
      tags: ['People'],
      summary: 'Make a link dead before it is used',
      request: { params: idParam('link') },
      responses: { 204: { description: 'Revoked' } },
    }),
    async (c) => {
      if (!(await revokeInvitation(c.var.db, c.var.who.cellarId, c.req.valid('param').id))) {
        throw problem(404, 'unknown-invitation', 'There is no such link; perhaps it was used')
      }
      return c.body(null, 204)
    },
  )
