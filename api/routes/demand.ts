/** Cold and air by the hour against the chillers, with the limits of air people breathe. */
import { z } from '@hono/zod-openapi'
import { findCellar } from '../../db/queries/cellars.ts'
import { listLots } from '../../db/queries/lots.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { listMachines, listVessels } from '../../db/queries/vessels.ts'
import { EXPOSURE_LIMITS } from '../cellar/exposure.ts'
import { span } from '../fields.ts'
import { fieldProblem } from '../problem.ts'
import { demandOf, poolAt, poolOf } from '../protocol/demand-of.ts'
import type { Temporal } from '../time.ts'
import { moment } from '../wire.ts'
import { windowOf } from './plan.ts'
import { answers, describe, routes } from './route.ts'

const kW = z.number()

const demandWire = z
  .object({
    poolKW: kW.openapi({ description: 'What the chillers give, kW, as the cellar set it' }),
    hours: z.array(
      z.object({
        at: moment,
        fermentKW: kW,
        chillKW: kW,
        coolingKW: kW,
        shortKW: kW.openapi({ description: 'What the chillers cannot give' }),
        co2M3PerH: z.number(),
        freshAirM3PerH: z.number().openapi({ description: 'Fresh air for 5000 ppm, the 8 h limit, well mixed' }),
        loads: z.array(z.object({ name: z.string(), kW })),
      }),
    ),
    limits: z.array(
      z.object({
        id: z.string(),
        substance: z.enum(['CO2', 'SO2', 'O2']),
        value: z.number(),
        unit: z.enum(['ppm', '% vol']),
        kind: z.string(),
        source: z.string(),
        memory: z.boolean().openapi({ description: 'Recalled, not read: verify' }),
      }),
    ),
    basis: z.string(),
  })
  .openapi('Demand')

const BASIS =
  'Heat: 557.4 kJ a kilogram of sugar (24 kcal a mol; Goelzer 2009, excerpt). CO2: 2 mol a mol of sugar, ideal gas at 20 C. ' +
  'Fresh air: steady state, well mixed; CO2 lies in pits and low rooms, so measure. Walls, pumps and pipes come on top of the cooling.'

const MOST_HOURS = 31 * 24
const USUAL_HOURS = 7 * 24

export const demand = routes().openapi(
  describe({
    method: 'get',
    path: '/api/demand',
    operationId: 'getDemand',
    tags: ['Plan'],
    summary: 'Cooling and CO2 hour by hour, from now for a week unless a span is given, at most 31 days',
    request: { query: span },
    responses: { 200: answers(demandWire, 'Each hour, and the limits') },
  }),
  async (c) => {
    const { db, who } = c.var
    const { fromAt, toAt, hours } = hoursOf(c.req.valid('query'), c.var.now())
    const cellar = await findCellar(db, who.cellarId)
    const { forecasts } = await findPlan(db, who.cellarId)
    const machines = await listMachines(db, who.cellarId)
    const byHour = demandOf(
      {
        forecasts,
        phases: await listPhases(db, who.cellarId, { fromAt, toAt }),
        tasks: await listTasks(db, who.cellarId, { fromAt, toAt }),
      },
      { cellar, machines, lots: await listLots(db, who.cellarId), vessels: await listVessels(db, who.cellarId) },
      fromAt,
      hours,
    )
    const poolKW = poolOf(machines)
    // A chiller that is booked out gives nothing in those hours.
    const shortOf = (h: (typeof byHour)[number]) => {
      const givenKW = poolAt(machines, h.at)
      return givenKW === poolKW ? h.shortKW : Math.round(Math.max(0, h.coolingKW - givenKW) * 100) / 100
    }
    return c.json(
      {
        poolKW,
        hours: byHour.map((h) => ({ ...h, at: h.at.toString(), shortKW: shortOf(h), loads: [...h.loads] })),
        limits: EXPOSURE_LIMITS.map((l) => ({ ...l })),
        basis: BASIS,
      },
      200,
    )
  },
)

/** Whole hours; a week from now where nothing is said. */
function hoursOf(
  query: { readonly from?: string | undefined; readonly to?: string | undefined },
  nowAt: Temporal.Instant,
): { readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant; readonly hours: number } {
  const asked = windowOf(query)
  const fromAt = (asked.fromAt ?? nowAt).round({ smallestUnit: 'hour', roundingMode: 'floor' })
  const untilAt = asked.toAt ?? fromAt.add({ hours: USUAL_HOURS })
  const hours = Math.ceil((untilAt.epochMilliseconds - fromAt.epochMilliseconds) / 3_600_000)
  if (hours <= 0) throw fieldProblem('#query/to', 'must be later than from')
  if (hours > MOST_HOURS) throw fieldProblem('#query/to', 'must be at most 31 days after from')
  return { fromAt, toAt: fromAt.add({ hours }), hours }
}
