/** What the ledger answers: stock, vessels, lots, traces, movements. */
import { listMovements } from '../../db/queries/movements.ts'
import { idParam } from '../bodies.ts'
import { stockAt, vesselLedger } from '../ledger/answers.ts'
import { lookAt, lotFor, vesselFor } from '../ledger/look.ts'
import { lotLedger } from '../ledger/lot-ledger.ts'
import { movementsToWire } from '../ledger/shapes.ts'
import { traceBack, traceForward } from '../ledger/tracing.ts'
import { atQuery, movementsQuery, traceQuery } from '../ledger-bodies.ts'
import { lotLedgerWire, movementsWire, stockWire, traceWire, vesselLedgerWire } from '../ledger-wire.ts'
import { fieldProblem } from '../problem.ts'
import { Temporal } from '../time.ts'
import { answers, describe, routes } from './route.ts'

const instant = (text: string | undefined) => (text === undefined ? undefined : Temporal.Instant.from(text))

export const ledger = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/stock',
      operationId: 'ledgerStock',
      tags: ['Ledger'],
      summary: 'What every vessel holds now or held at a moment, and the litres of every lot',
      request: { query: atQuery },
      responses: { 200: answers(stockWire, 'Vessels by id, lots by code') },
    }),
    async (c) => {
      const look = await lookAt(c.var.db, c.var.who.cellarId)
      return c.json(await stockAt(c.var.db, look, instant(c.req.valid('query').at) ?? c.var.now()), 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/vessels/{id}',
      operationId: 'ledgerVessel',
      tags: ['Ledger'],
      summary: 'What is in this vessel and how it got there',
      request: { params: idParam('T01'), query: atQuery },
      responses: { 200: answers(vesselLedgerWire, 'By code or id') },
    }),
    async (c) => {
      const { id } = c.req.valid('param')
      const look = await lookAt(c.var.db, c.var.who.cellarId, { vessels: [id] })
      const vessel = vesselFor(look, id)
      const at = instant(c.req.valid('query').at) ?? c.var.now()
      return c.json(await vesselLedger(c.var.db, look, vessel.id, at), 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/lots/{id}',
      operationId: 'ledgerLot',
      tags: ['Ledger'],
      summary: 'Where this lot is, what it is made of and what was done to it',
      request: { params: idParam('L01'), query: atQuery },
      responses: { 200: answers(lotLedgerWire, 'By code or id') },
    }),
    async (c) => {
      const { id } = c.req.valid('param')
      const look = await lookAt(c.var.db, c.var.who.cellarId, { lots: [id] })
      const lot = lotFor(look, id)
      const at = instant(c.req.valid('query').at) ?? c.var.now()
      return c.json(await lotLedger(c.var.db, look, lot.id, at), 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/trace',
      operationId: 'ledgerTrace',
      tags: ['Ledger'],
      summary: 'Where wine came from, or where it went: lots, litres and shares as a graph',
      request: { query: traceQuery },
      responses: { 200: answers(traceWire, 'Nodes and edges; rank 0 is the wine asked about') },
    }),
    async (c) => {
      const query = c.req.valid('query')
      if ((query.lot === undefined) === (query.vessel === undefined))
        throw fieldProblem('#query/lot', 'give either a lot or a vessel')
      const look = await lookAt(c.var.db, c.var.who.cellarId, { vessels: [query.vessel], lots: [query.lot] })
      const of =
        query.vessel === undefined
          ? { lotId: lotFor(look, query.lot ?? '').id }
          : { vesselId: vesselFor(look, query.vessel).id }
      const at = instant(query.at) ?? c.var.now()
      const traced =
        query.direction === 'back'
          ? await traceBack(c.var.db, look, of, at)
          : await traceForward(c.var.db, look, of, instant(query.since), at)
      return c.json(traced, 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/ledger/movements',
      operationId: 'listMovements',
      tags: ['Ledger'],
      summary: 'Movements, newest first, page by page',
      request: { query: movementsQuery },
      responses: { 200: answers(movementsWire, 'Those taken back and those that do so among them') },
    }),
    async (c) => {
      const query = c.req.valid('query')
      const { db, who } = c.var
      const look = await lookAt(db, who.cellarId, { vessels: [query.vessel], lots: [query.lot] })
      const fromAt = instant(query.from)
      const toAt = instant(query.to)
      const before = placeOf(query.before)
      const rows = await listMovements(db, who.cellarId, {
        ...(fromAt ? { fromAt } : {}),
        ...(toAt ? { toAt } : {}),
        ...(query.vessel === undefined ? {} : { vesselId: vesselFor(look, query.vessel).id }),
        ...(query.lot === undefined ? {} : { lotId: lotFor(look, query.lot).id }),
        ...(query.task === undefined ? {} : { taskKey: query.task }),
        ...(before ? { before } : {}),
        limit: query.limit + 1,
        newestFirst: true,
      })
      const page = rows.slice(0, query.limit)
      const last = page.at(-1)
      const next = rows.length > page.length && last ? `${last.at} ${last.entry}` : null
      return c.json({ movements: await movementsToWire(db, look, page), next }, 200)
    },
  )

/** `2027-03-22T05:00:00Z 17`, as a page gave it. */
function placeOf(text: string | undefined) {
  if (text === undefined) return undefined
  const [at = '', entry = ''] = text.split(' ')
  try {
    if (!/^\d{1,15}$/.test(entry)) throw new RangeError(entry)
    return { at: Temporal.Instant.from(at), entry: Number(entry) }
  } catch {
    throw fieldProblem('#query/before', 'must be the `next` of a page')
  }
}
