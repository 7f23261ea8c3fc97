import { z } from '@hono/zod-openapi'
import { findCellar } from '../../db/queries/cellars.ts'
import { listPeople } from '../../db/queries/people.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listSeenTasks } from '../../db/queries/seen-tasks.ts'
import { listMachines } from '../../db/queries/vessels.ts'
import { HORIZON_DAYS, instantOf, span } from '../fields.ts'
import { fieldProblem } from '../problem.ts'
import { machineToWire, personToWire, travelToWire } from '../shapes/cellar.ts'
import { conflictToWire, phaseToWire } from '../shapes/lot.ts'
import type { Temporal } from '../time.ts'
import {
  brokenWire,
  conflictWire,
  drawnTaskWire,
  machineWire,
  moment,
  personWire,
  phaseWire,
  taskWire,
  vesselWire,
} from '../wire.ts'
import { tasksToJson, vesselNames } from './read.ts'
import { answers, answerText, describe, routes, type Scene } from './route.ts'
import { vesselsNow } from './vessels.ts'

const planWire = z
  .object({
    tasks: z.array(taskWire),
    phases: z.array(phaseWire),
    broken: z.array(brokenWire),
    conflicts: z.array(conflictWire),
    people: z.array(personWire),
    vessels: z.array(vesselWire),
    machines: z.array(machineWire),
    travel: z
      .object({ sites: z.array(z.string()), minutes: z.array(z.array(z.number())) })
      .optional()
      .openapi({
        description:
          'Minutes from each site to each other by the shortest ways, the cellar itself first. Absent: one site',
      }),
    revision: z.number().int(),
    plannedAt: moment,
    nowAt: moment,
  })
  .openapi('Plan')

const seasonWire = planWire.extend({ tasks: z.array(drawnTaskWire) }).openapi('Season')

export interface Window {
  readonly fromAt?: Temporal.Instant
  readonly toAt?: Temporal.Instant
}

/** The window asked for: it must end after it starts, and lies within two years where both ends are given. */
export function windowOf(query: { readonly from?: string | undefined; readonly to?: string | undefined }): Window {
  const fromAt = query.from === undefined ? undefined : instantOf(query.from)
  const toAt = query.to === undefined ? undefined : instantOf(query.to)
  if (fromAt && toAt) {
    const ms = toAt.epochMilliseconds - fromAt.epochMilliseconds
    if (ms <= 0) throw fieldProblem('#query/to', 'must be later than from')
    if (ms > HORIZON_DAYS * 86_400_000)
      throw fieldProblem('#query/to', `must be at most ${HORIZON_DAYS} days after from`)
  }
  return { ...(fromAt ? { fromAt } : {}), ...(toAt ? { toAt } : {}) }
}

export const plan = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/plan',
      operationId: 'getPlan',
      tags: ['Plan'],
      summary: 'Tasks and phases that touch a span, and who and what they use',
      request: { query: span },
      responses: { 200: answers(planWire, 'The plan') },
    }),
    async (c) => answerText<z.infer<typeof planWire>>(c, await planJson(c, windowOf(c.req.valid('query')), 'all')),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/season',
      operationId: 'getSeason',
      tags: ['Plan'],
      summary: 'All that the timeline and the calendar draw: the plan without what only a hand at the work needs',
      request: { query: span },
      responses: { 200: answers(seasonWire, 'The plan as it is drawn') },
    }),
    async (c) => answerText<z.infer<typeof seasonWire>>(c, await planJson(c, windowOf(c.req.valid('query')), 'drawn')),
  )

async function planJson({ var: { db, who, now } }: Scene, window: Window, fields: 'all' | 'drawn'): Promise<string> {
  const nowAt = now()
  const stored = await findPlan(db, who.cellarId)
  const vessels = await vesselsNow(db, who.cellarId, nowAt)
  const names = await vesselNames(db, who.cellarId)
  const tasks = await listSeenTasks(db, who.cellarId, window)
  const rest: Omit<z.infer<typeof planWire>, 'tasks'> = {
    phases: (await listPhases(db, who.cellarId, window)).map((p) => phaseToWire(p, names)),
    broken: stored.broken.map((b) => ({ ...b, taskKeys: [...b.taskKeys] })),
    conflicts: stored.conflicts.map(conflictToWire),
    people: (await listPeople(db, who.cellarId)).map(personToWire),
    vessels,
    machines: (await listMachines(db, who.cellarId)).map(machineToWire),
    ...travelToWire((await findCellar(db, who.cellarId))?.sites ?? []),
    revision: stored.revision,
    plannedAt: stored.plannedAt.toString(),
    nowAt: nowAt.toString(),
  }
  return `{"tasks":${await tasksToJson(db, who.cellarId, tasks, nowAt, fields)},${JSON.stringify(rest).slice(1)}`
}
