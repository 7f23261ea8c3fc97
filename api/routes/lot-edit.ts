import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { addLots, listLots, saveLot } from '../../db/queries/lots.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { vesselNamed } from '../acts.ts'
import { id } from '../fields.ts'
import { newId } from '../ids.ts'
import { lotBody, lotOf, newLotBody } from '../lot-bodies.ts'
import { refuseFar, refuseFarDay } from '../moments.ts'
import { fieldProblem, problem } from '../problem.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import type { Fruit, Lot } from '../protocol/facts.ts'
import { lotEntry } from '../record/lot.ts'
import { same } from '../schedule/same.ts'
import { Temporal } from '../time.ts'
import { heldVersionOf, stale } from '../version.ts'
import { planAnew } from './anew.ts'
import { accept, lotAnew, lotFor, lotNow, unknownLot } from './lot-at.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

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
        await db.transaction(async (tx) => {
          await addLots(tx, who.cellarId, [{ ...lot, signed: accepted }], by)
          await appendEntry(tx, who.cellarId, lotEntry(lot, who.personId, nowAt))
        })
      }
      const anew = await planAnew(c)
      return c.json({ lot: await lotNow(c, lotId), ...anew }, 201)
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
      const saved = await db.transaction(async (tx) => {
        const over = await saveLot(tx, who.cellarId, next, held)
        if (over.ok) await appendEntry(tx, who.cellarId, lotEntry(next, who.personId, c.var.now()))
        return over
      })
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await lotNow(c, before.id)) : unknownLot(before.id)
      const isChosen = !same(before.vesselPins, next.vesselPins)
      const because = { words: `vessels were chosen for ${next.code}`, chosenFor: [next.id] }
      const anew = await planAnew(c, who.cellarId, isChosen ? because : undefined)
      return c.json({ lot: await lotNow(c, before.id), ...anew }, 200)
    },
  )

const codeInUse = () =>
  problem(409, 'code-taken', 'Another lot has this code', { errors: [{ pointer: '#/code', detail: 'is taken' }] })

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
