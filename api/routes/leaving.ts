/** People who leave, and ways in that are taken away from them. What they did stays theirs. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { endSessions, removeInvitations, removeSessions } from '../../db/queries/access.ts'
import { listMemberships } from '../../db/queries/accounts.ts'
import { findCellar } from '../../db/queries/cellars.ts'
import { listFeeds, revokeFeed } from '../../db/queries/feeds.ts'
import { removeSecondStep } from '../../db/queries/passkeys.ts'
import { findPerson, listPeople, markRemoved, type StoredPerson } from '../../db/queries/people.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { acrossCellars } from '../../db/wall.ts'
import { idParam } from '../bodies.ts'
import { heldVersion } from '../fields.ts'
import { fieldProblem, problem } from '../problem.ts'
import { personEntry } from '../record/person.ts'
import { personToWire } from '../shapes/cellar.ts'
import { dayOf } from '../time.ts'
import { heldVersionOf, stale } from '../version.ts'
import { personWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const personAnew = z.object({ person: personWire, ...anewShape })
const held = z.strictObject({ version: heldVersion }).openapi('HeldVersion', { example: { version: 1 } })

export const leaving = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/people/{id}/remove',
      operationId: 'removePerson',
      tags: ['People'],
      summary: 'Take a person out of the cellar: signed out at once, no more work. What they did stays theirs',
      request: { params: idParam('kim'), body: takes(held) },
      responses: { 200: answers(personAnew, 'Gone') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const person = await found(c)
      const version = heldVersionOf(c, c.req.valid('json').version)
      if (person.id === who.personId) throw fieldProblem('#param/id', 'is yourself: ask another owner or winemaker')
      ownersAlone(c, person)
      const owners = (await listPeople(db, who.cellarId)).filter((p) => p.role === 'owner' && !p.removedAt)
      if (person.role === 'owner' && owners.length === 1) {
        throw fieldProblem('#param/id', 'must stay: the cellar has no other owner')
      }
      const zone = (await findCellar(db, who.cellarId))?.zone ?? 'UTC'
      const gone = { removedAt: nowAt, untilOn: lastDay(person, dayOf(nowAt, zone).subtract({ days: 1 })) }
      const saved = await db.transaction(async (tx) => {
        const marked = await markRemoved(tx, who.cellarId, person.id, version, gone)
        if (!marked.ok) return marked
        await removeSessions(tx, who.cellarId, person.id)
        await removeInvitations(tx, who.cellarId, person.id)
        for (const feed of await listFeeds(tx, who.cellarId, person.id)) {
          await revokeFeed(tx, who.cellarId, feed.id, nowAt)
        }
        await appendEntry(
          tx,
          who.cellarId,
          personEntry(person, who.personId, nowAt, { words: 'taken out of the cellar' }),
        )
        return marked
      })
      if (!saved.ok) throw stale(c, personToWire(await found(c)))
      const anew = await planAnew(c)
      return c.json({ person: personToWire(await found(c)), ...anew }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/people/{id}/return',
      operationId: 'bringBackPerson',
      tags: ['People'],
      summary: 'Bring a person back who was taken out; a new link signs them in',
      request: { params: idParam('kim'), body: takes(held) },
      responses: { 200: answers(personAnew, 'Back') },
    }),
    async (c) => {
      const { db, who } = c.var
      const person = await found(c)
      ownersAlone(c, person)
      const version = heldVersionOf(c, c.req.valid('json').version)
      if (!person.removedAt) throw problem(409, 'already-there', `${person.name} is here`)
      const saved = await db.transaction(async (tx) => {
        const back = await markRemoved(tx, who.cellarId, person.id, version, null)
        if (back.ok)
          await appendEntry(tx, who.cellarId, personEntry(person, who.personId, c.var.now(), { words: 'brought back' }))
        return back
      })
      if (!saved.ok) throw stale(c, personToWire(await found(c)))
      const anew = await planAnew(c)
      return c.json({ person: personToWire(await found(c)), ...anew }, 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/people/{id}/sessions',
      operationId: 'endSessionsOf',
      tags: ['People'],
      summary: 'Sign a person out everywhere, such as when a phone is lost',
      request: { params: idParam('kim') },
      responses: { 204: { description: 'Ended' } },
    }),
    async (c) => {
      const person = await found(c)
      ownersAlone(c, person)
      await removeSessions(c.var.db, c.var.who.cellarId, person.id)
      return c.body(null, 204)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/people/{id}/second-step',
      operationId: 'removeSecondStep',
      tags: ['People'],
      summary: 'Take passkeys and codes away from somebody who lost them; their password alone opens again',
      request: { params: idParam('kim') },
      responses: { 204: { description: 'Taken away' } },
    }),
    async (c) => {
      const { db, who } = c.var
      const { accountId } = await found(c)
      if (accountId === undefined) return c.body(null, 204)
      await acrossCellars(async () => {
        // Whoever runs one cellar must not open another one's door.
        if ((await listMemberships(db, accountId)).some((m) => m.cellarId !== who.cellarId)) {
          throw problem(409, 'elsewhere-too', 'This person works in another cellar too', {
            detail:
              'Their passkeys guard that one as well. They use a recovery code, or whoever runs the server helps.',
          })
        }
        await db.transaction(async (tx) => {
          await removeSecondStep(tx, accountId)
          await endSessions(tx, { accountId })
        })
      })
      return c.body(null, 204)
    },
  )

async function found(c: Context<AppEnv>): Promise<StoredPerson> {
  const id = c.req.param('id') ?? ''
  const person = await findPerson(c.var.db, c.var.who.cellarId, id)
  if (!person) throw problem(404, 'unknown-person', `There is no person ${id}`)
  return person
}

function ownersAlone(c: Context<AppEnv>, person: StoredPerson): void {
  if (person.role === 'owner' && c.var.who.role !== 'owner') {
    throw problem(403, 'not-allowed', 'Only an owner may do this to an owner')
  }
}

/** Work ended yesterday at the latest; a span never ends before it starts. */
function lastDay(person: StoredPerson, yesterdayOn: NonNullable<StoredPerson['untilOn']>) {
  const { fromOn, untilOn } = person
  if (untilOn && untilOn.toString() < yesterdayOn.toString()) return untilOn
  return fromOn && fromOn.toString() > yesterdayOn.toString() ? fromOn : yesterdayOn
}
