/** Registers, reports, counts, opening stock and the nightly check. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { listLedgerChecks } from '../../db/queries/contents.ts'
import { recordAdditionCorrection } from '../../db/queries/dosed.ts'
import { idParam } from '../bodies.ts'
import { writeTable } from '../csv.ts'
import { newId } from '../ids.ts'
import { type Checked, checkLedger } from '../ledger/check.ts'
import { counted, countsOf } from '../ledger/counts.ts'
import { tried } from '../ledger/entry.ts'
import { type Look, lookAt, lotFor, readNames, vesselFor } from '../ledger/look.ts'
import { openStock } from '../ledger/opening.ts'
import { registerOf } from '../ledger/registers.ts'
import { lossesOf, yieldsOf } from '../ledger/reports.ts'
import { additionToWire } from '../ledger/shapes.ts'
import { redosed } from '../ledger/tick.ts'
import {
  additionCorrectBody,
  countBody,
  previewQuery,
  registerParam,
  registerQuery,
  spanQuery,
} from '../ledger-bodies.ts'
import {
  additionToldWire,
  type CheckWire,
  checksWire,
  checkWire,
  countsWire,
  countWire,
  lossesWire,
  openingWire,
  registerWire,
  yieldsWire,
} from '../ledger-wire.ts'
import { fieldProblem, problem } from '../problem.ts'
import { dayOf, Temporal } from '../time.ts'
import { planAnew } from './anew.ts'
import { csvOf } from './csv-body.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const YEARS_MOST = 11

export const ledgerBooks = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/registers/{name}',
      operationId: 'ledgerRegister',
      tags: ['Ledger'],
      summary: 'The books of a period: vessels, lots, additions, balance, composition, stock',
      request: { params: registerParam, query: registerQuery },
      responses: { 200: answers(registerWire, 'Columns and rows') },
    }),
    async (c) => c.json(await registerAsked(c, c.req.valid('param').name, c.req.valid('query')), 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/registers/{name}/csv',
      operationId: 'ledgerRegisterFile',
      tags: ['Ledger'],
      summary: 'The same as a CSV file',
      request: { params: registerParam, query: registerQuery },
      responses: { 200: { description: 'The table', content: { 'text/csv': { schema: z.string() } } } },
    }),
    async (c) => {
      const { name } = c.req.valid('param')
      const r = await registerAsked(c, name, c.req.valid('query'))
      const unit = (kind: string) => (kind === 'volume' ? ` (${r.unit})` : '')
      const rows = r.rows.map((row) =>
        Object.fromEntries(r.columns.map((col) => [`${col.title}${unit(col.kind)}`, row[col.key]])),
      )
      return c.body(
        writeTable(
          r.columns.map((col) => `${col.title}${unit(col.kind)}`),
          rows,
        ),
        200,
        {
          'content-type': 'text/csv; charset=utf-8; header=present',
          'content-disposition': `attachment; filename="register-${name}-${r.fromOn}-${r.toOn}.csv"`,
        },
      )
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/losses',
      operationId: 'ledgerLosses',
      tags: ['Ledger'],
      summary: 'Losses by cause and month',
      request: { query: spanQuery },
      responses: { 200: answers(lossesWire, 'Litres') },
    }),
    async (c) => {
      const look = await lookAt(c.var.db, c.var.who.cellarId)
      const today = dayOf(c.var.now(), look.zone)
      const query = c.req.valid('query')
      const toOn = query.to === undefined ? today : Temporal.PlainDate.from(query.to)
      const fromOn =
        query.from === undefined ? toOn.subtract({ months: 12 }).with({ day: 1 }) : Temporal.PlainDate.from(query.from)
      checkPeriod(fromOn, toOn)
      return c.json(await lossesOf(c.var.db, look, fromOn, toOn), 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/yields',
      operationId: 'ledgerYields',
      tags: ['Ledger'],
      summary: 'Litres a tonne by block',
      responses: { 200: answers(yieldsWire, 'Newest vintage first') },
    }),
    async (c) => c.json(await yieldsOf(c.var.db, await lookAt(c.var.db, c.var.who.cellarId)), 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/counts',
      operationId: 'listCounts',
      tags: ['Ledger'],
      summary: 'Counts of the stock, newest first',
      responses: { 200: answers(countsWire, 'At most 100') },
    }),
    async (c) => c.json({ counts: await countsOf(c.var.db, await lookAt(c.var.db, c.var.who.cellarId)) }, 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/counts',
      operationId: 'countStock',
      tags: ['Ledger'],
      summary: 'What was found in the vessels: compared with the book, differences written once explained',
      request: { query: previewQuery, body: takes(countBody) },
      responses: { 201: answers(countWire, 'Line by line') },
    }),
    async (c) => {
      const isPreview = c.req.valid('query').preview === 'true'
      const by = { personId: c.var.who.personId, nowAt: c.var.now() }
      const answer = await tried(c.var.db, isPreview, async (tx) =>
        counted(tx, await lookAt(tx, c.var.who.cellarId), c.req.valid('json'), by, isPreview),
      )
      if (!isPreview) await planAnew(c, c.var.who.cellarId, { words: 'the stock was counted' })
      return c.json(answer, 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/opening',
      operationId: 'openingStock',
      tags: ['Ledger'],
      summary:
        'Stock that was there before the ledger, as CSV: looked at with preview, else written as a whole or not at all',
      request: {
        query: z.object({ preview: z.enum(['true', 'false']).default('true') }),
        body: {
          required: true,
          content: {
            'text/csv': {
              schema: z
                .string()
                .openapi({ example: 'vessel,lot,volumeL,variety,vintage\r\nT11,V26,11800,Chardonnay,2026\r\n' }),
            },
          },
        },
      },
      responses: { 200: answers(openingWire, 'Each row, with its errors') },
    }),
    async (c) => {
      const isPreview = c.req.valid('query').preview === 'true'
      const text = await csvOf(c)
      const by = { personId: c.var.who.personId, nowAt: c.var.now() }
      const answer = await tried(c.var.db, isPreview, async (tx) =>
        openStock(tx, await lookAt(tx, c.var.who.cellarId), text, by, isPreview),
      )
      if (!isPreview) await planAnew(c, c.var.who.cellarId, { words: 'the opening stock was written' })
      return c.json(answer, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/additions/{id}/correct',
      operationId: 'correctAddition',
      tags: ['Ledger'],
      summary: 'Takes an addition back, with the reason, and writes what truly went in',
      request: { params: idParam('0190'), body: takes(additionCorrectBody) },
      responses: { 201: answers(additionToldWire, 'What counts now: the new addition, or the one taken back') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const { reason, instead } = c.req.valid('json')
      const row = await db.transaction(async (tx) => {
        const look = await lookAt(tx, who.cellarId, { vessels: [instead?.vessel] })
        const vesselId = instead?.vessel === undefined ? undefined : vesselFor(look, instead.vessel).id
        const done = await recordAdditionCorrection(tx, who.cellarId, c.req.valid('param').id, {
          reason,
          ids: [newId(nowAt.epochMilliseconds), newId(nowAt.epochMilliseconds)],
          writtenAt: nowAt,
          personId: who.personId,
          ...(instead ? { instead: { ...instead, vesselId } } : {}),
        })
        if (!done.ok)
          throw done.why === 'unknown'
            ? problem(404, 'unknown-addition', `There is no addition ${c.req.valid('param').id}`)
            : problem(409, 'already-corrected', 'This addition was taken back already')
        await redosed(tx, who.cellarId, done.value)
        return done.value.at(-1)
      })
      await planAnew(c, who.cellarId, { words: 'an addition was corrected' })
      if (!row) throw new Error('a correction without a row')
      const look = await lookAt(db, who.cellarId, { vessels: [row.vesselId], lots: [row.lotId] })
      return c.json(additionToWire(look, { ...row, stands: row.reversesId === null && instead !== undefined }), 201)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/checks',
      operationId: 'listLedgerChecks',
      tags: ['Ledger'],
      summary: 'What the nightly check found, newest first',
      responses: { 200: answers(checksWire, 'At most 30') },
    }),
    async (c) => {
      const look = await lookAt(c.var.db, c.var.who.cellarId)
      const found = await listLedgerChecks(c.var.db, c.var.who.cellarId, 30)
      await readNames(c.var.db, look, { vessels: found.flatMap(vesselsAtFault) })
      return c.json({ checks: found.map((x) => checkToWire(look, x)) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/ledger/checks',
      operationId: 'checkLedger',
      tags: ['Ledger'],
      summary: 'Checks the ledger now',
      request: { body: takes(z.strictObject({}).openapi('NothingToSay')) },
      responses: { 201: answers(checkWire, 'What it found') },
    }),
    async (c) => {
      const found = await checkLedger(c.var.db, c.var.who.cellarId, c.var.now)
      const look = await lookAt(c.var.db, c.var.who.cellarId, { vessels: vesselsAtFault(found) })
      return c.json(checkToWire(look, found), 201)
    },
  )

const vesselsAtFault = (x: Pick<Checked, 'faults'>) => x.faults.map((f) => f.vesselId)

const checkToWire = (look: Look, x: Checked): CheckWire => ({
  at: x.at.toString(),
  ok: x.ok,
  movements: x.movements,
  tookMs: x.tookMs,
  faults: x.faults.filter((f) => !f.accepted).map((f) => faultToWire(look, f)),
  accepted: x.faults.flatMap((f) => (f.accepted ? [{ ...faultToWire(look, f), accepted: f.accepted }] : [])),
})

const faultToWire = (look: Look, { vesselId, accepted: _a, ...f }: Checked['faults'][number]) => ({
  ...f,
  ...(vesselId === undefined ? {} : { vesselCode: look.vessel(vesselId) }),
})

async function registerAsked(
  c: Context<AppEnv>,
  name: z.output<typeof registerParam>['name'],
  query: z.output<typeof registerQuery>,
) {
  const look = await lookAt(c.var.db, c.var.who.cellarId, { vessels: [query.vessel], lots: [query.lot] })
  const fromOn = Temporal.PlainDate.from(query.from)
  const toOn = Temporal.PlainDate.from(query.to)
  checkPeriod(fromOn, toOn)
  return registerOf(c.var.db, look, name, {
    fromOn,
    toOn,
    unit: query.unit,
    ...(query.vessel === undefined ? {} : { vesselId: vesselFor(look, query.vessel).id }),
    ...(query.lot === undefined ? {} : { lotId: lotFor(look, query.lot).id }),
  })
}

function checkPeriod(fromOn: Temporal.PlainDate, toOn: Temporal.PlainDate): void {
  if (Temporal.PlainDate.compare(fromOn, toOn) > 0) throw fieldProblem('#query/to', 'must not be before from')
  if (Temporal.PlainDate.compare(fromOn.add({ years: YEARS_MOST }), toOn) < 0)
    throw fieldProblem('#query/to', `must be at most ${YEARS_MOST} years after from`)
}
