import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addLots, findLot, listLots, saveChoices, saveLot } from '../../db/queries/lots.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listTransfers } from '../../db/queries/records.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { vesselNamed } from '../acts.ts'
import { code, day, heldVersion, id, line, moment, opId, prose } from '../fields.ts'
import { newId } from '../ids.ts'
import { refuseFar, refuseFarDay } from '../moments.ts'
import { fieldProblem, problem } from '../problem.ts'
import { choices } from '../protocol/choices.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import type { Fruit, Lot } from '../protocol/facts.ts'
import { lotToWire } from '../shapes/lot.ts'
import { Temporal } from '../time.ts'
import { blockingOf, mainDates, type Signature, signatures, trialOf } from '../trial.ts'
import { heldVersionOf, stale } from '../version.ts'
import { conflictWire, fruitWire, lotWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { vesselNames } from './read.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const lotAnew = z.object({ lot: lotWire, ...anewShape })

const signed = z
  .array(z.strictObject({ conflict: line(10), reason: line(500) }))
  .max(60)
  .default([])
  .openapi({ description: 'Blocking conflicts that a winemaker accepts, each with the reason' })

const strictChoices = choices.strict()
const strictFruit = fruitWire.strict()

const lotFields = {
  name: line(80),
  variety: line(80),
  block: prose(80).default(''),
  place: prose(80).default(''),
  vintage: z.number().int().min(2000).max(2100).optional(),
  pickOn: day,
  fruit: strictFruit,
}

const FRUIT_EXAMPLE = {
  tonnes: 6,
  brix: 21.8,
  pH: 3.2,
  acidGPerLTartaric: 7.5,
  malicGPerL: 3,
  yanMgPerL: 180,
  fruitTempC: 16,
  rotPct: 1,
  yieldLPerT: 680,
}

const newLotBody = z
  .strictObject({
    opId: opId.optional(),
    code,
    ...lotFields,
    style: choices.shape.style.optional().openapi({ description: 'Takes this style’s usual answers. Or send choices' }),
    choices: strictChoices.optional(),
    signed,
  })
  .refine((b) => (b.style === undefined) !== (b.choices === undefined), {
    message: 'needs either style or choices',
    path: ['choices'],
  })
  .openapi('NewLot', {
    example: {
      code: 'L30',
      name: 'Top terrace',
      variety: 'Chenin Blanc',
      pickOn: '2027-03-25',
      fruit: FRUIT_EXAMPLE,
      style: 'crisp',
      signed: [],
    },
  })

const lotBody = z
  .strictObject({
    ...lotFields,
    vesselPins: z.record(z.string().regex(/^[a-z][a-z0-9-]{0,29}$/), z.array(id).max(100)).optional(),
    endedAt: moment.nullable().optional(),
    version: heldVersion,
  })
  .openapi('LotChange')

const choicesBody = z.strictObject({ choices: strictChoices, signed, version: heldVersion }).openapi('ChoicesChange')

const checkBody = z
  .strictObject({
    choices: strictChoices,
    fruit: strictFruit,
    pickOn: day.optional(),
    /** An existing lot these answers would be for. */
    lot: id.optional(),
  })
  .openapi('ChoicesCheck')

const checked = z
  .object({
    conflicts: z.array(conflictWire),
    dates: z
      .array(z.object({ step: z.string(), name: z.string(), at: moment, forecast: z.boolean() }))
      .openapi({ description: 'The main dates of the plan these answers would give' }),
  })
  .openapi('ChoicesChecked')

export const lotEdit = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/lots',
      operationId: 'addLot',
      tags: ['Lots'],
      summary: 'Add a lot with its choices; its tasks are dated at once',
      request: { body: takes(newLotBody) },
      responses: { 201: answers(lotAnew, 'Added') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const nowAt = c.var.now()
      const lotId = body.opId ?? newId(nowAt.epochMilliseconds)
      const stored = await listLots(db, who.cellarId)
      if (!stored.some((l) => l.id === lotId)) {
        if (stored.some((l) => l.code.toLowerCase() === body.code.toLowerCase())) throw codeInUse()
        refuseFarDay(body.pickOn, nowAt, '#/pickOn')
        refuseFarDay(body.choices?.finishOn, nowAt, '#/choices/finishOn')
        await refuseTooLarge(c, body.fruit)
        const lot: Lot = {
          ...lotOf(body, lotId, body.code),
          choices: body.choices ?? defaultsFor(body.style!),
          choicesVersion: 1,
          signed: [],
          parents: [],
          vesselPins: {},
        }
        const by = { personId: who.personId, at: nowAt }
        const accepted = await accept(c, lot, body.signed)
        await db.transaction((tx) => addLots(tx, who.cellarId, [{ ...lot, signed: accepted }], by))
      }
      const anew = await planAnew(c)
      return c.json({ lot: await lotNow(c, lotId), ...anew }, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/lots/check',
      operationId: 'checkChoices',
      tags: ['Lots'],
      summary: 'What would stand against these answers, and the main dates they would give. Nothing is stored',
      request: { body: takes(checkBody) },
      responses: { 200: answers(checked, 'Conflicts and dates') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      refuseFarDay(body.pickOn, c.var.now(), '#/pickOn')
      refuseFarDay(body.choices.finishOn, c.var.now(), '#/choices/finishOn')
      const known = body.lot ? await lotFor(c, body.lot) : undefined
      const lot = known ?? trialLot(c, body.fruit, body.pickOn)
      const trial = {
        ...lot,
        fruit: body.fruit,
        choices: body.choices,
        ...(body.pickOn ? { pickOn: Temporal.PlainDate.from(body.pickOn) } : {}),
      }
      const { conflicts, plan } = await trialOf(db, who.cellarId, trial, c.var.now())
      return c.json(
        { conflicts: conflicts.map((f) => ({ ...f, fields: [...f.fields] })), dates: mainDates(plan, trial.id) },
        200,
      )
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/lots/{id}',
      operationId: 'changeLot',
      tags: ['Lots'],
      summary: 'Change a lot: names, fruit, picking day, vessels fixed by hand, or end it',
      request: { params: z.object({ id }), body: takes(lotBody) },
      responses: { 200: answers(lotAnew, 'As it is now') },
    }),
    async (c) => {
      const { version, ...body } = c.req.valid('json')
      const { db, who } = c.var
      const before = await lotFor(c, c.req.valid('param').id)
      refuseFarDay(body.pickOn, c.var.now(), '#/pickOn')
      if (body.endedAt) refuseFar(Temporal.Instant.from(body.endedAt), c.var.now(), '#/endedAt')
      if (body.fruit.tonnes * body.fruit.yieldLPerT > before.fruit.tonnes * before.fruit.yieldLPerT) {
        await refuseTooLarge(c, body.fruit)
      }
      const next: Lot = {
        ...before,
        ...lotOf(body, before.id, before.code),
        vesselPins: body.vesselPins ? await pinsOf(c, body.vesselPins) : before.vesselPins,
        ...(body.endedAt === undefined
          ? {}
          : { endedAt: body.endedAt === null ? undefined : Temporal.Instant.from(body.endedAt) }),
      }
      const held = heldVersionOf(c, version)
      const saved = await db.transaction((tx) => saveLot(tx, who.cellarId, next, held))
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await lotNow(c, before.id)) : unknown(before.id)
      const anew = await planAnew(c)
      return c.json({ lot: await lotNow(c, before.id), ...anew }, 200)
    },
  )
  .openapi(
    describe({
      method: 'put',
      path: '/api/lots/{id}/choices',
      operationId: 'changeChoices',
      tags: ['Lots'],
      summary: 'Change a lot’s answers. A blocking conflict needs another answer, or a reason signed by a winemaker',
      request: { params: z.object({ id }), body: takes(choicesBody) },
      responses: { 200: answers(lotAnew, 'As it is now') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const before = await lotFor(c, c.req.valid('param').id)
      refuseFarDay(body.choices.finishOn, c.var.now(), '#/choices/finishOn')
      const held = heldVersionOf(c, body.version)
      if (held !== before.choicesVersion) throw stale(c, await lotNow(c, before.id))
      const accepted = await accept(c, { ...before, choices: body.choices }, body.signed)
      const saved = await db.transaction((tx) =>
        saveChoices(
          tx,
          who.cellarId,
          before.id,
          { choices: body.choices, signed: accepted, personId: who.personId, at: c.var.now() },
          held,
        ),
      )
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await lotNow(c, before.id)) : unknown(before.id)
      const anew = await planAnew(c)
      return c.json({ lot: await lotNow(c, before.id), ...anew }, 200)
    },
  )

const unknown = (lotId: string) => problem(404, 'unknown-lot', `There is no lot ${lotId}`)
const codeInUse = () =>
  problem(409, 'code-taken', 'Another lot has this code', { errors: [{ pointer: '#/code', detail: 'is taken' }] })

async function lotFor(c: Context<AppEnv>, lotId: string) {
  const { db, who } = c.var
  const lot =
    (await findLot(db, who.cellarId, lotId)) ?? (await listLots(db, who.cellarId)).find((l) => l.code === lotId)
  if (!lot) throw unknown(lotId)
  return lot
}

async function lotNow(c: Context<AppEnv>, lotId: string) {
  const { db, who } = c.var
  return lotToWire(await lotFor(c, lotId), {
    vessels: await vesselNames(db, who.cellarId),
    plan: await findPlan(db, who.cellarId),
    phases: await listPhases(db, who.cellarId, { lotId }),
    tasks: await listTasks(db, who.cellarId, { lotId }),
    transfers: await listTransfers(db, who.cellarId, lotId),
    nowAt: c.var.now(),
  })
}

type Fields = z.output<z.ZodObject<typeof lotFields>>

const lotOf = (body: Fields, lotId: string, lotCode: string) => ({
  id: lotId,
  code: lotCode,
  name: body.name,
  variety: body.variety,
  block: body.block,
  place: body.place,
  vintage: body.vintage ?? Temporal.PlainDate.from(body.pickOn).year,
  pickOn: Temporal.PlainDate.from(body.pickOn),
  fruit: body.fruit,
})

/** A lot that exists only while it is checked. */
function trialLot(c: Context<AppEnv>, fruit: Fruit, pickOn: string | undefined): Lot {
  const on = pickOn ?? c.var.now().toZonedDateTimeISO('UTC').toPlainDate().add({ days: 1 }).toString()
  const fields = { name: 'Trial', variety: '', block: '', place: '', pickOn: on, fruit }
  return {
    ...lotOf(fields, 'trial', 'TRIAL'),
    choices: defaultsFor('crisp'),
    choicesVersion: 1,
    signed: [],
    parents: [],
    vesselPins: {},
  }
}

/** Signatures that count, or a problem that names each conflict still in the way. */
async function accept(c: Context<AppEnv>, lot: Lot, given: readonly Signature[]): Promise<Lot['signed']> {
  const { db, who } = c.var
  const nowAt = c.var.now()
  const { conflicts } = await trialOf(db, who.cellarId, lot, nowAt)
  const all = signatures(lot.signed, given, conflicts, { personId: who.personId, at: nowAt })
  const open = blockingOf(conflicts, all)
  if (open.length === 0) return all
  throw problem(422, 'conflicts', 'These answers do not go together', {
    detail: 'Change an answer of each, or sign a reason for each.',
    errors: open.flatMap((f) =>
      f.fields.map((field) => ({ pointer: `#/choices/${field}`, detail: `${f.reason} ${f.wayOut}` })),
    ),
    conflicts: open,
  })
}

/** A lot that no set of vessels here could hold is a slip of the finger, or fruit for another cellar. */
async function refuseTooLarge(c: Context<AppEnv>, fruit: Fruit): Promise<void> {
  const vessels = await listVessels(c.var.db, c.var.who.cellarId)
  const holdL = vessels.filter((v) => v.state !== 'out-of-service').reduce((sum, v) => sum + v.volumeL, 0)
  const volumeL = fruit.tonnes * fruit.yieldLPerT
  if (holdL > 0 && volumeL > holdL) {
    throw fieldProblem(
      '#/fruit/tonnes',
      `gives ${Math.round(volumeL)} L, and all vessels together hold ${Math.round(holdL)} L. Split the lot, or add vessels`,
    )
  }
}

async function pinsOf(c: Context<AppEnv>, pins: Readonly<Record<string, readonly string[]>>) {
  const vessels = await listVessels(c.var.db, c.var.who.cellarId)
  return Object.fromEntries(
    Object.entries(pins).map(([hold, names]) => [
      hold,
      names.map((name, i) => vesselNamed(name, { vessels }, `#/vesselPins/${hold}/${i}`)),
    ]),
  )
}
