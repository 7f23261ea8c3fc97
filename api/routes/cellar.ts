import type { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addCellar, findCellar, listCellars, type StoredCellar, saveCellar } from '../../db/queries/cellars.ts'
import { addPeople, findPerson, joinAccount } from '../../db/queries/people.ts'
import { findPlanRevision } from '../../db/queries/plans.ts'
import { appendEntries, appendEntry } from '../../db/queries/record.ts'
import { addMachines } from '../../db/queries/vessels.ts'
import { acrossCellars, inCellar } from '../../db/wall.ts'
import { clientOf, setSession, startSession, takeSetup } from '../auth.ts'
import { anotherCellarBody, type cellarBody, newCellarBody, cellarBody as takesCellar } from '../bodies.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import { type Cellar, EXACT_WEEKS, type Person, type Rates } from '../protocol/facts.ts'
import { cellarEntry } from '../record/cellar.ts'
import { personEntry } from '../record/person.ts'
import { cellarToWire } from '../shapes/cellar.ts'
import { Temporal } from '../time.ts'
import { USUAL_MACHINES } from '../usual-machines.ts'
import { heldVersionOf, stale } from '../version.ts'
import { cellarWire } from '../wire.ts'
import { planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'
import { checkSites } from './sites.ts'

/** Until the cellar has measured its own: common practice for some 100 t. */
const USUAL_RATES: Rates = {
  receptionTPerH: 4,
  sortingTPerH: 2,
  pressLoadingTPerH: 3,
  floatLPerH: 5000,
  chillKW: 10,
  heatKW: 5,
}

const USUAL_SHIFT = { weekdays: [1, 2, 3, 4, 5, 6], startMin: 7 * 60, endMin: 17 * 60 }
/** The first person does everything until there are others. */
const ALL_SKILLS = [
  'decides',
  'lab',
  'additions',
  'pump',
  'press',
  'filter',
  'forklift',
  'barrels',
  'rounds',
  'confined-space',
]

/** The first person of a cellar, until there are others. */
const FIRST: Omit<Person, 'id' | 'name' | 'language'> = {
  role: 'owner',
  post: 'winemaker',
  skills: ALL_SKILLS,
  shifts: [USUAL_SHIFT],
  absences: [],
}

export const cellar = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/cellar',
      operationId: 'getCellar',
      tags: ['Cellar'],
      summary: 'The cellar: its name, zone, units, holidays, and its clock',
      responses: { 200: answers(cellarWire, 'The cellar') },
    }),
    async (c) => c.json(await cellarNow(c, await found(c)), 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/cellar',
      operationId: 'makeCellar',
      tags: ['Cellar'],
      summary: 'Make the first cellar and its owner, with the link that the first start prints',
      request: { body: takes(newCellarBody) },
      responses: { 201: answers(cellarWire, 'The cellar; the owner is signed in') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db } = c.var
      const nowAt = c.var.now()
      if ((await acrossCellars(() => listCellars(db))).length > 0) {
        throw problem(409, 'already-there', 'There is a cellar already', { detail: 'Change it under Cellar.' })
      }
      if (!(await takeSetup(c))) {
        throw problem(401, 'link-spent', 'Open the link that the start printed, in this browser, first')
      }
      const owner = { ...FIRST, id: newId(nowAt.epochMilliseconds), name: body.owner, language: body.language }
      const id = await acrossCellars(() => makeCellar(c, body, owner))
      return inCellar(id, async () => {
        const started = await startSession(db, { cellarId: id, id: owner.id }, clientOf(c), nowAt)
        await setSession(c, started.secret)
        await planAnew(c, id)
        return c.json(await cellarNow(c, (await findCellar(db, id))!), 201)
      })
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/cellars',
      operationId: 'makeAnotherCellar',
      tags: ['Cellar'],
      summary: 'Make another cellar beside this one. You become its owner, with the same name and password',
      request: { body: takes(anotherCellarBody) },
      responses: { 201: answers(cellarWire, 'The new cellar; go there with switchCellar') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const { accountId } = who
      if (accountId === undefined) {
        throw problem(409, 'password-first', 'Set a password first: it opens both cellars')
      }
      const me = await findPerson(db, who.cellarId, who.personId)
      const owner = {
        ...FIRST,
        id: newId(c.var.now().epochMilliseconds),
        name: who.name,
        language: who.language,
        ...(me ? { skills: me.skills, shifts: me.shifts, post: me.post } : {}),
      }
      const id = await acrossCellars(() => makeCellar(c, body, owner, accountId))
      return inCellar(id, async () => {
        await planAnew(c, id)
        return c.json(await cellarNow(c, (await findCellar(db, id))!), 201)
      })
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/cellar',
      operationId: 'changeCellar',
      tags: ['Cellar'],
      summary: 'Change the cellar',
      request: { body: takes(takesCellar) },
      responses: { 200: answers(cellarWire, 'As it is now') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const now = await found(c)
      if (body.sites) checkSites(body.sites)
      const next = {
        ...cellarOf(body, now.id, now.rates),
        holidays: holidaysOf(body) ?? now.holidays,
        sites: body.sites ?? now.sites,
        exactWeeks: body.exactWeeks ?? now.exactWeeks,
      }
      const { cellarId, personId } = c.var.who
      const saved = await c.var.db.transaction(async (tx) => {
        const over = await saveCellar(tx, next, heldVersionOf(c, body.version))
        if (over.ok) await appendEntry(tx, cellarId, cellarEntry(next, personId, c.var.now(), 'changed'))
        return over
      })
      if (!saved.ok) throw stale(c, await cellarNow(c, await found(c)))
      await planAnew(c)
      return c.json(await cellarNow(c, await found(c)), 200)
    },
  )

/** A cellar with its first person and the usual machines, all or nothing. Answers its id. */
async function makeCellar(c: Context<AppEnv>, body: Body, owner: Person, accountId?: string): Promise<string> {
  if (body.sites) checkSites(body.sites)
  const nowAt = c.var.now()
  const id = newId(nowAt.epochMilliseconds)
  await c.var.db.transaction(async (tx) => {
    const made = cellarOf(body, id, USUAL_RATES)
    await addCellar(tx, made, { demo: false, at: nowAt })
    await addPeople(tx, id, [owner])
    if (accountId !== undefined) await joinAccount(tx, id, owner.id, accountId)
    await addMachines(
      tx,
      id,
      USUAL_MACHINES.map((m) => ({ ...m, id: newId(nowAt.epochMilliseconds) })),
      { personId: owner.id, at: nowAt, words: 'a usual one' },
    )
    await appendEntries(tx, id, [
      cellarEntry(made, owner.id, nowAt, 'set up'),
      personEntry(owner, owner.id, nowAt, { words: 'the first' }),
    ])
  })
  return id
}

async function found(c: Context<AppEnv>): Promise<StoredCellar> {
  const cellar = await findCellar(c.var.db, c.var.who.cellarId)
  if (!cellar) throw problem(404, 'not-found', 'There is no such cellar')
  return cellar
}

async function cellarNow(c: Context<AppEnv>, stored: StoredCellar) {
  const plan = await findPlanRevision(c.var.db, stored.id)
  return cellarToWire(stored, c.var.now(), plan?.revision ?? 0)
}

type Body = Omit<z.output<typeof cellarBody>, 'version'>

const holidaysOf = (body: Body) => body.holidays?.map((h) => ({ on: Temporal.PlainDate.from(h.on), name: h.name }))

const cellarOf = (body: Body, id: string, rates: Rates): Cellar => ({
  id,
  name: body.name,
  hemisphere: body.hemisphere,
  vintage: body.vintage,
  zone: body.zone,
  units: body.units,
  sugarUnit: body.sugarUnit,
  language: body.language,
  rates: body.rates ?? rates,
  holidays: holidaysOf(body) ?? [],
  sites: body.sites ?? [],
  exactWeeks: body.exactWeeks ?? EXACT_WEEKS.usual,
})
