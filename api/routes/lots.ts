import { z } from '@hono/zod-openapi'
import { listChoices, listLots } from '../../db/queries/lots.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listAdditions, listReadings, listTaskFacts, listTransfers } from '../../db/queries/records.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { id } from '../fields.ts'
import { problem } from '../problem.ts'
import { choices } from '../protocol/choices.ts'
import type { TaskFactKind } from '../protocol/facts.ts'
import { lotToWire, phaseToWire, readingToWire } from '../shapes/lot.ts'
import { so2Ledger } from '../shapes/so2.ts'
import { lotWire, moment, phaseWire, readingWire, taskWire } from '../wire.ts'
import { tasksToWire, vesselNames } from './read.ts'
import { answers, describe, routes } from './route.ts'

const forecastPoint = z.object({
  at: moment,
  sugarGPerL: z.number(),
  lowGPerL: z.number(),
  highGPerL: z.number(),
  tempC: z.number(),
})

/** One entry of what happened to a lot, newest first. */
const historyEntry = z
  .object({
    at: moment,
    kind: z.enum(['choices', 'task', 'reading', 'transfer']),
    personId: z.string().optional(),
    taskKey: z.string().optional(),
    /** A reading is told in the reader's units, so the screen looks it up. */
    readingId: z.string().optional(),
    words: z.string(),
  })
  .openapi('HistoryEntry')

const ACT_WORDS: Readonly<Record<TaskFactKind, string>> = {
  start: 'Started',
  done: 'Done',
  skip: 'Left out',
  pin: 'Fixed',
  unpin: 'Set free',
  assign: 'Given to other hands',
  undo: 'Taken back',
  note: 'Note',
  acknowledge: 'Seen',
  problem: 'Problem',
  caution: 'Caution read',
}

export const lotFull = z
  .object({
    lot: lotWire,
    tasks: z.array(taskWire),
    phases: z.array(phaseWire),
    readings: z.array(readingWire),
    forecast: z.array(forecastPoint),
    watch: z
      .array(z.object({ kind: z.string(), level: z.enum(['note', 'warn', 'act']), words: z.string() }))
      .openapi({ description: 'Risk of the ferment, then what its readings say' }),
    so2: z
      .object({
        totalMgPerL: z.number(),
        tasted: z.boolean(),
        step: z.string(),
        limits: z.array(
          z.object({
            regime: z.string(),
            limitMgPerL: z.number(),
            roomMgPerL: z.number(),
            overLimit: z.boolean(),
            source: z.string(),
            printed: z.string(),
            note: z.string(),
            memory: z.boolean(),
          }),
        ),
      })
      .optional()
      .openapi({ description: 'Running total of SO2 against the limits; check your own rules' }),
    history: z.array(historyEntry),
    choiceVersions: z.array(
      z.object({ version: z.number().int(), choices, at: moment, personId: z.string().nullable() }),
    ),
  })
  .openapi('LotFull')

const lotParam = z.object({ id })

export const lots = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/lots',
      operationId: 'listLots',
      tags: ['Lots'],
      summary: 'Every lot: where it is, when it will be dry, what comes next',
      responses: { 200: answers(z.object({ lots: z.array(lotWire) }), 'By code') },
    }),
    async (c) => {
      const { db, who } = c.var
      const around = {
        vessels: await vesselNames(db, who.cellarId),
        plan: await findPlan(db, who.cellarId),
        phases: await listPhases(db, who.cellarId),
        tasks: await listTasks(db, who.cellarId),
        transfers: await listTransfers(db, who.cellarId),
        nowAt: c.var.now(),
      }
      return c.json({ lots: (await listLots(db, who.cellarId)).map((l) => lotToWire(l, around)) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/lots/{id}',
      operationId: 'getLot',
      tags: ['Lots'],
      summary: 'One lot with its tasks, phases, readings, forecast and history',
      request: { params: lotParam },
      responses: { 200: answers(lotFull, 'The lot') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const lotId = c.req.valid('param').id
      // By id, or by the code that people know.
      const lot = (await listLots(db, who.cellarId)).find((l) => l.id === lotId || l.code === lotId)
      if (!lot) throw problem(404, 'unknown-lot', `There is no lot ${lotId}`)
      const plan = await findPlan(db, who.cellarId)
      const phases = await listPhases(db, who.cellarId, { lotId: lot.id })
      const tasks = await listTasks(db, who.cellarId, { lotId: lot.id })
      const transfers = await listTransfers(db, who.cellarId, lot.id)
      const vessels = await vesselNames(db, who.cellarId)
      const readings = await listReadings(db, who.cellarId, lot.id)
      const so2 = so2Ledger(lot, readings, await listAdditions(db, who.cellarId, lot.id))
      const versions = await listChoices(db, who.cellarId, lot.id)
      const names = new Map(tasks.map((t) => [t.key, t.name]))
      const facts = (await listTaskFacts(db, who.cellarId)).filter((f) => names.has(f.taskKey))
      const history = [
        ...versions.map((v) => ({
          at: v.at.toString(),
          kind: 'choices' as const,
          ...(v.personId === null ? {} : { personId: v.personId }),
          words: `Choices, version ${v.version}`,
        })),
        ...facts.map((f) => ({
          at: f.at.toString(),
          kind: 'task' as const,
          ...(f.personId === undefined ? {} : { personId: f.personId }),
          taskKey: f.taskKey,
          words: `${ACT_WORDS[f.kind]}: ${names.get(f.taskKey)}${f.reason ? `. ${f.reason}` : ''}`,
        })),
        ...readings.map((r) => ({
          at: r.takenAt.toString(),
          kind: 'reading' as const,
          ...(r.personId === undefined ? {} : { personId: r.personId }),
          ...(r.taskKey === undefined ? {} : { taskKey: r.taskKey }),
          readingId: r.id,
          words: `${r.kind} ${r.value}${r.note ? `. ${r.note}` : ''}`,
        })),
        ...transfers.map((t) => ({
          at: t.movedAt.toString(),
          kind: 'transfer' as const,
          ...(t.personId === undefined ? {} : { personId: t.personId }),
          ...(t.taskKey === undefined ? {} : { taskKey: t.taskKey }),
          words: `${t.volumeL} L${t.lossL > 0 ? `, ${t.lossL} L lost` : ''}`,
        })),
      ].sort((a, b) => (a.at < b.at ? 1 : -1))
      return c.json(
        {
          lot: lotToWire(lot, { vessels, plan, phases, tasks, transfers, nowAt }),
          tasks: await tasksToWire(db, who.cellarId, tasks, nowAt),
          phases: phases.map((p) => phaseToWire(p, vessels)),
          readings: readings.map((r) => readingToWire(r, vessels)),
          forecast: [...(plan.forecasts.find((f) => f.lotId === lot.id)?.points ?? [])],
          watch: [...(plan.forecasts.find((f) => f.lotId === lot.id)?.watch ?? [])],
          ...(so2 ? { so2: { ...so2, limits: [...so2.limits] } } : {}),
          history,
          choiceVersions: versions.map((v) => ({
            version: v.version,
            choices: v.choices,
            at: v.at.toString(),
            personId: v.personId,
          })),
        },
        200,
      )
    },
  )
