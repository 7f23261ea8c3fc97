/** Hours in which somebody is away: recorded, ended sooner or later, or taken back because they never were. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { findPerson, type StoredPerson } from '../../db/queries/people.ts'
import { findOperation } from '../../db/queries/record.ts'
import { absenceBackBody, absenceBody, absenceChangeBody, absenceParams, idParam } from '../bodies.ts'
import { newId } from '../ids.ts'
import { refuseFar } from '../moments.ts'
import { fieldProblem, operationUsed, problem } from '../problem.ts'
import type { Absence } from '../protocol/facts.ts'
import { type Because, fromTo, type Hours } from '../protocol/moved.ts'
import { Temporal } from '../time.ts'
import { heldVersionOf } from '../version.ts'
import { personWire } from '../wire.ts'
import { anewShape, asPlanned, planAnew } from './anew.ts'
import { personNow, savePersonBy, unknownPerson } from './people.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const personAnew = z.object({ person: personWire, ...anewShape })

/** What an operation did, as the record names it. */
type Act = 'away' | 'away-changed' | 'away-removed'

export const absences = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/people/{id}/absences',
      operationId: 'addAbsence',
      tags: ['People'],
      summary: 'Say when a person is away; their work is planned anew',
      request: { params: idParam('kim'), body: takes(absenceBody) },
      responses: { 201: answers(personAnew, 'As it is now') },
    }),
    async (c) => {
      const { opId, version, ...said } = c.req.valid('json')
      const person = await personFor(c)
      const id = opId ?? newId(c.var.now().epochMilliseconds)
      const absence = checked(c, { id, reason: said.reason, fromAt: at(said.fromAt), toAt: at(said.toAt) })
      const done = await once(c, opId, { act: 'away', id }, async () => {
        const words = `away ${await span(c, absence)}${absence.reason ? `: ${absence.reason}` : ''}`
        await saveAbsences(c, person, [...person.absences, absence], version, { act: 'away', id, opId, words })
      })
      return c.json(await anew(c, done ? { words: `${person.name} is away`, personId: person.id } : undefined), 201)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/people/{id}/absences/{absence}',
      operationId: 'changeAbsence',
      tags: ['People'],
      summary: 'Somebody is back sooner, or stays away longer; the work is planned anew',
      request: { params: absenceParams, body: takes(absenceChangeBody) },
      responses: { 200: answers(personAnew, 'As it is now') },
    }),
    async (c) => {
      const { opId, version, ...said } = c.req.valid('json')
      const person = await personFor(c)
      const id = c.req.valid('param').absence
      let because: Because | undefined
      await once(c, opId, { act: 'away-changed', id }, async () => {
        const before = absenceOf(person, id)
        const absence = checked(
          c,
          {
            id,
            fromAt: said.fromAt === undefined ? before.fromAt : at(said.fromAt),
            toAt: said.toAt === undefined ? before.toAt : at(said.toAt),
            reason: said.reason ?? before.reason,
          },
          before,
        )
        const freed = lessThan(before, absence)
        const taken = lessThan(absence, before)
        const isMoved = freed.length + taken.length > 0
        const why = absence.reason ? `: ${absence.reason}` : ''
        const words = `away ${await span(c, absence)}${isMoved ? ` instead of ${await span(c, before)}` : why}`
        const next = person.absences.map((a) => (a.id === id ? absence : a))
        await saveAbsences(c, person, next, version, { act: 'away-changed', id, opId, words })
        if (isMoved) because = { ...becauseOf(person, before, absence), freed }
      })
      return c.json(await anew(c, because), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/people/{id}/absences/{absence}/remove',
      operationId: 'removeAbsence',
      tags: ['People'],
      summary: 'Take an absence back: the person was or is here after all',
      request: { params: absenceParams, body: takes(absenceBackBody) },
      responses: { 200: answers(personAnew, 'As it is now') },
    }),
    async (c) => {
      const { opId, version } = c.req.valid('json')
      const person = await personFor(c)
      const id = c.req.valid('param').absence
      let because: Because | undefined
      await once(c, opId, { act: 'away-removed', id }, async () => {
        const before = absenceOf(person, id)
        const words = `here after all ${await span(c, before)}`
        const next = person.absences.filter((a) => a.id !== id)
        await saveAbsences(c, person, next, version, { act: 'away-removed', id, opId, words })
        because = { words: `${person.name} is here after all`, freed: [before] }
      })
      return c.json(await anew(c, because), 200)
    },
  )

const at = (text: string) => Temporal.Instant.from(text)

async function personFor(c: Context<AppEnv>): Promise<StoredPerson> {
  const id = c.req.param('id') ?? ''
  const person = await findPerson(c.var.db, c.var.who.cellarId, id)
  if (!person) throw unknownPerson(id)
  if (person.removedAt) throw problem(409, 'removed', `${person.name} is not here any more. Bring them back first`)
  return person
}

function absenceOf(person: StoredPerson, id: string): Absence {
  const absence = person.absences.find((a) => a.id === id)
  if (!absence) throw problem(404, 'unknown-absence', `${person.name} has no such absence`)
  return absence
}

function checked(c: Context<AppEnv>, absence: Absence, before?: Absence): Absence {
  for (const side of ['fromAt', 'toAt'] as const) {
    if (!before?.[side].equals(absence[side])) refuseFar(absence[side], c.var.now(), `#/${side}`)
  }
  if (Temporal.Instant.compare(absence.toAt, absence.fromAt) <= 0) {
    throw fieldProblem('#/toAt', 'must be later than its beginning')
  }
  return absence
}

interface Told {
  readonly act: Act
  /** Of the absence. */
  readonly id: string
  readonly opId: string | undefined
  readonly words: string
}

async function saveAbsences(
  c: Context<AppEnv>,
  person: StoredPerson,
  next: readonly Absence[],
  version: number | undefined,
  { act, id, opId, words }: Told,
): Promise<void> {
  const held = heldVersionOf(c, version)
  await savePersonBy(c, { ...person, absences: next }, held, { words, act, correctsId: id, opId })
}

/**
 * Does it unless the same operation did it before; the record knows.
 *
 * @returns whether it was done now
 * @throws 422 where the id stands for something else
 */
async function once(
  c: Context<AppEnv>,
  opId: string | undefined,
  does: { readonly act: Act; readonly id: string },
  work: () => Promise<void>,
): Promise<boolean> {
  const isDone = async () => {
    const { db, who } = c.var
    const known = opId && (await findOperation(db, who.cellarId, c.req.param('id') ?? '', opId))
    if (!known) return false
    const { act } = JSON.parse(known.payload) as { act?: string }
    if (act === does.act && known.correctsId === does.id) return true
    throw operationUsed('another change of this person')
  }
  if (await isDone()) return false
  try {
    await work()
    return true
  } catch (error) {
    // It may have come twice at once: then the other has done it.
    if (await isDone()) return false
    throw error
  }
}

/** Hours that are gone dictate, as an absence does; hours to be had again ask before they move what was announced. */
function becauseOf(person: StoredPerson, before: Hours, now: Hours): Because {
  const isLonger = lessThan(now, before).length > 0
  const words =
    isLonger && lessThan(before, now).length > 0
      ? 'is away at other hours'
      : isLonger
        ? 'is away longer'
        : now.toAt.equals(before.toAt)
          ? 'leaves later'
          : 'is back sooner'
  return { words: `${person.name} ${words}`, ...(isLonger ? { personId: person.id } : {}) }
}

/** What one span has and the other has not. */
function lessThan(before: Hours, now: Hours): readonly Hours[] {
  const order = Temporal.Instant.compare
  const parts = [
    { fromAt: before.fromAt, toAt: order(now.fromAt, before.toAt) < 0 ? now.fromAt : before.toAt },
    { fromAt: order(now.toAt, before.fromAt) > 0 ? now.toAt : before.fromAt, toAt: before.toAt },
  ]
  return parts.filter((part) => order(part.fromAt, part.toAt) < 0)
}

async function span(c: Context<AppEnv>, { fromAt, toAt }: Hours): Promise<string> {
  const zone = (await findCellar(c.var.db, c.var.who.cellarId))?.zone ?? 'UTC'
  return fromTo(fromAt, toAt, zone, ' to ')
}

/** Sent again, nothing is new and the plan stands. */
async function anew(c: Context<AppEnv>, because: Because | undefined): Promise<z.output<typeof personAnew>> {
  const done = await (because ? planAnew(c, c.var.who.cellarId, { ...because, asks: true }) : asPlanned(c))
  return { person: await personNow(c, c.req.param('id') ?? ''), ...done }
}
