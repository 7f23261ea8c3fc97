import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { saveChoices } from '../../db/queries/lots.ts'
import { id } from '../fields.ts'
import { checkBody, checked, choicesBody, lotOf } from '../lot-bodies.ts'
import { refuseFarDay } from '../moments.ts'
import { defaultsFor } from '../protocol/defaults.ts'
import type { Fruit, Lot } from '../protocol/facts.ts'
import { Temporal } from '../time.ts'
import { mainDates, trialOf } from '../trial.ts'
import { heldVersionOf, stale } from '../version.ts'
import { askedBy, planAnew } from './anew.ts'
import { accept, lotAnew, lotFor, lotNow, unknownLot } from './lot-at.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

export const lotChoices = routes()
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
      const { conflicts, plan } = await trialOf(db, who.cellarId, trial, c.var.now(), askedBy(c))
      return c.json(
        { conflicts: conflicts.map((f) => ({ ...f, fields: [...f.fields] })), dates: mainDates(plan, trial.id) },
        200,
      )
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
      if (!saved.ok) throw saved.why === 'stale' ? stale(c, await lotNow(c, before.id)) : unknownLot(before.id)
      const anew = await planAnew(c)
      return c.json({ lot: await lotNow(c, before.id), ...anew }, 200)
    },
  )

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
