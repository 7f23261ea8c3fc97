import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { removeSessions } from '../../db/queries/access.ts'
import { addPeople, findPerson, listPeople, savePerson } from '../../db/queries/people.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { idParam, newPersonBody, personBody } from '../bodies.ts'
import { newId } from '../ids.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { Person, Role } from '../protocol/facts.ts'
import { type PersonTold, personEntry } from '../record/person.ts'
import { personFromWire, personToWire } from '../shapes/cellar.ts'
import { heldVersionOf, stale } from '../version.ts'
import { personWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const personAnew = z.object({ person: personWire, ...anewShape })

export const people = routes()
  .openapi(
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
  .openapi(
    describe({
      method: 'post',
      path: '/api/people',
      operationId: 'addPerson',
      tags: ['People'],
      summary: 'Add a person',
      request: { body: takes(newPersonBody) },
      responses: { 201: answers(personAnew, 'Added') },
    }),
    async (c) => {
      const { opId, ...body } = c.req.valid('json')
      const { db, who } = c.var
      mayGive(who.role, body.role)
      const id = opId ?? newId(c.var.now().epochMilliseconds)
      if (!(await findPerson(db, who.cellarId, id))) {
        if ((await listPeople(db, who.cellarId)).some((p) => p.name === body.name)) throw nameTaken()
        const person = personFromWire(body, id, [])
        await db.transaction(async (tx) => {
          await addPeople(tx, who.cellarId, [person])
          await appendEntry(tx, who.cellarId, personEntry(person, who.personId, c.var.now()))
        })
      }
      const anew = await planAnew(c)
      return c.json({ person: await personNow(c, id), ...anew }, 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/people/{id}',
      operationId: 'changePerson',
      tags: ['People'],
      summary: 'Change a person. A new role ends their sessions at once',
      request: { params: idParam('kim'), body: takes(personBody) },
      responses: { 200: answers(personAnew, 'As it is now') },
    }),
    async (c) => {
      const { version, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const { id } = c.req.valid('param')
      const before = await findPerson(db, who.cellarId, id)
      if (!before) throw unknownPerson(id)
      if (before.removedAt) throw problem(409, 'removed', `${before.name} is not here any more. Bring them back first`)
      if (before.role !== body.role) mayGive(who.role, body.role, before.role)
      const others = await listPeople(db, who.cellarId)
      if (others.some((p) => p.name === body.name && p.id !== id)) throw nameTaken()
      if (
        before.role === 'owner' &&
        body.role !== 'owner' &&
        others.filter((p) => p.role === 'owner' && !p.removedAt).length === 1
      ) {
        throw fieldProblem('#/role', 'must stay owner: the cellar has no other')
      }
      await savePersonBy(c, personFromWire(body, id, before.absences), heldVersionOf(c, version))
      if (before.role !== body.role) await removeSessions(db, who.cellarId, id)
      const anew = await planAnew(c)
      return c.json({ person: await personNow(c, id), ...anew }, 200)
    },
  )

export const unknownPerson = (id: string) => problem(404, 'unknown-person', `There is no person ${id}`)
const nameTaken = () =>
  problem(409, 'name-taken', 'Somebody here has this name already', {
    errors: [{ pointer: '#/name', detail: 'is taken' }],
  })

/** Owners are made and unmade by owners alone. */
function mayGive(mine: Role, given: Role, before?: Role): void {
  if (mine !== 'owner' && (given === 'owner' || before === 'owner')) {
    throw problem(403, 'not-allowed', 'Only an owner may make or unmake an owner')
  }
}

export async function personNow(c: Context<AppEnv>, id: string) {
  const person = await findPerson(c.var.db, c.var.who.cellarId, id)
  if (!person) throw unknownPerson(id)
  return personToWire(person)
}

/** Saves and records it in one transaction. @throws 409 or 412 where somebody was faster */
export async function savePersonBy(
  c: Context<AppEnv>,
  person: Person,
  version: number,
  told?: PersonTold,
): Promise<void> {
  const { cellarId, personId } = c.var.who
  const saved = await c.var.db.transaction(async (tx) => {
    const next = await savePerson(tx, cellarId, person, version)
    if (next.ok) await appendEntry(tx, cellarId, personEntry(person, personId, c.var.now(), told))
    return next
  })
  if (saved.ok) return
  throw saved.why === 'stale' ? stale(c, await personNow(c, person.id)) : unknownPerson(person.id)
}
