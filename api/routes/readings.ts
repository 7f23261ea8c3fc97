import { z } from '@hono/zod-openapi'
import { findCellar } from '../../db/queries/cellars.ts'
import { lockPlan } from '../../db/queries/locks.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listReadings, recordReadings } from '../../db/queries/records.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import { notValid } from '../acts.ts'
import { id } from '../fields.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import { askAgain, becauseOfReadings, measured, readingsBody } from '../readings.ts'
import { readingToWire } from '../shapes/lot.ts'
import { readingWire } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { vesselNames } from './read.ts'
import { answers, describe, routes, takes } from './route.ts'

const recorded = z
  .object({
    readings: z.array(readingWire),
    ...anewShape,
    warnings: z.array(z.string()).openapi({ description: 'Hard to believe: measure again' }),
  })
  .openapi('ReadingsRecorded')

export const readings = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/readings',
      operationId: 'listReadings',
      tags: ['Readings'],
      summary: 'Readings, oldest first: of one lot, or all',
      request: { query: z.object({ lot: id.optional() }) },
      responses: { 200: answers(z.object({ readings: z.array(readingWire) }), 'By time taken') },
    }),
    async (c) => {
      const { db, who } = c.var
      const names = await vesselNames(db, who.cellarId)
      const asked = c.req.valid('query').lot
      const lot = asked && (await listLots(db, who.cellarId)).find((l) => l.id === asked || l.code === asked)
      if (asked && !lot) throw problem(404, 'unknown-lot', `There is no lot ${asked}`)
      const found = await listReadings(db, who.cellarId, lot ? lot.id : undefined)
      return c.json({ readings: found.map((r) => readingToWire(r, names)) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/readings',
      operationId: 'recordReadings',
      tags: ['Readings'],
      summary: 'Record readings, all or none; the plan follows them. A resent operation id counts once',
      request: { body: takes(readingsBody) },
      responses: { 201: answers(recorded, 'Recorded') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const cellar = await findCellar(db, who.cellarId)
      const lots = await listLots(db, who.cellarId)
      const vessels = await listVessels(db, who.cellarId)
      const earlier = await listReadings(db, who.cellarId)
      const results = c.req.valid('json').readings.map((body, i) =>
        measured(
          body,
          {
            lots,
            vessels,
            zone: cellar?.zone ?? 'UTC',
            nowAt,
            personId: who.personId,
            defaultAt: nowAt,
            id: () => newId(nowAt.epochMilliseconds),
            earlier,
          },
          `#/readings/${i}`,
        ),
      )
      const errors = results.flatMap((r) => r.errors)
      if (errors.length > 0) throw notValid(errors)
      askAgain(results)
      const told = results.flatMap((r) => (r.reading ? [r.reading] : []))
      const known = new Map(earlier.map((r) => [r.id, r]))
      const fresh = told.filter((r, i) => !known.has(r.id) && told.findIndex((o) => o.id === r.id) === i)
      await db.transaction(async (tx) => {
        // One at a time: another copy of the same request may have been faster.
        await lockPlan(tx, who.cellarId)
        const there = new Set((await listReadings(tx, who.cellarId)).map((r) => r.id))
        await recordReadings(
          tx,
          who.cellarId,
          fresh.filter((r) => !there.has(r.id)),
          nowAt,
        )
      })
      const names = await vesselNames(db, who.cellarId)
      const anew = await planAnew(c, who.cellarId, becauseOfReadings(fresh, lots, cellar?.zone ?? 'UTC'))
      return c.json(
        {
          readings: told.map((r) => readingToWire(known.get(r.id) ?? r, names)),
          ...anew,
          warnings: results.flatMap((r) => r.warnings),
        },
        201,
      )
    },
  )
