/** What people send about a trial, and what travels back. */
import { z } from '@hono/zod-openapi'
import { code, day, heldVersion, id, line, moment, opId, prose } from '../fields.ts'
import { TRIAL_STATES } from '../protocol/trial/change.ts'
import { movedWire } from '../shapes/moved.ts'
import { brokenWire, conflictWire, fruitWire, phaseWire, taskWire } from '../wire.ts'

const taskKey = z
  .string()
  .regex(/^[A-Za-z0-9._-]{1,16}\/[a-z0-9-]{1,64}\/[0-9]{1,5}$/, 'must be a task such as L01/press/1')
  .openapi({ example: 'L01/press/1' })

const vesselHold = z.string().regex(/^[a-z][a-z0-9-]{0,29}$/, 'must be a stay such as settle, ferment, store or cold')

export const trialChange = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('pick'), lot: id, pickOn: day }),
  z.strictObject({ kind: z.literal('move'), taskKey, startAt: moment, people: z.array(id).max(20).optional() }),
  z.strictObject({ kind: z.literal('more-fruit'), like: id, code, on: day, tonnes: fruitWire.shape.tonnes }),
  z.strictObject({ kind: z.literal('fruit'), lot: id, fruit: fruitWire.partial().strict() }),
  z.strictObject({
    kind: z.literal('machine-down'),
    machine: id,
    fromAt: moment,
    toAt: moment,
    why: line(120).default('tried out'),
  }),
  z.strictObject({ kind: z.literal('away'), person: id, fromAt: moment, toAt: moment, reason: prose(200).default('') }),
  z.strictObject({
    kind: z.literal('stay'),
    person: id,
    on: day,
    untilMin: z
      .number()
      .int()
      .min(1)
      .max(1440)
      .openapi({ description: 'Minutes of the day at which the work of that day ends', example: 1110 }),
  }),
  z.strictObject({
    kind: z.literal('choices'),
    lot: id,
    choices: z
      .record(z.string().max(40), z.unknown())
      .openapi({ description: 'Answers that would be others; null takes one away', example: { fermentTempC: 16 } }),
  }),
  z.strictObject({
    kind: z.literal('vessel'),
    lot: id,
    hold: vesselHold,
    vessels: z.array(id).min(1).max(100).openapi({ description: 'Vessel codes or ids' }),
  }),
])

export type ChangeBody = z.output<typeof trialChange>

export const newTrialBody = z
  .strictObject({
    opId: opId.optional(),
    name: line(120).optional().openapi({ description: 'Absent: the changes in words' }),
    changes: z.array(trialChange).min(1).max(20),
  })
  .openapi('NewTrial', {
    example: { changes: [{ kind: 'pick', lot: 'L01', pickOn: '2027-03-23' }] },
  })

export const adoptBody = z
  .strictObject({
    version: heldVersion,
    keep: z
      .array(taskKey)
      .max(500)
      .default([])
      .openapi({ description: 'Tasks that stay where they are now, as pins of yours' }),
    signed: z
      .array(z.strictObject({ conflict: line(10), reason: line(500) }))
      .max(60)
      .default([]),
  })
  .openapi('AdoptTrial', { example: { version: 1, keep: [] } })

export const decideBody = z.strictObject({ version: heldVersion }).openapi('UndoTrial', { example: { version: 2 } })

export const trialWire = z
  .object({
    id: z.string(),
    name: z.string(),
    changes: z.array(trialChange),
    words: z.array(z.string()).openapi({ description: 'One sentence a change' }),
    state: z.enum(TRIAL_STATES),
    createdAt: moment,
    createdBy: z.string(),
    decidedAt: moment.optional(),
    decidedBy: z.string().optional(),
    version: z.number().int(),
  })
  .openapi('Trial')

export type TrialWire = z.output<typeof trialWire>

const counts = z.object({ before: z.number(), after: z.number() })
const maybeMoment = z.object({ before: moment.nullable(), after: moment.nullable() })
const pressDay = z.object({ on: day, code: z.string(), hours: z.number() }).nullable()
const cold = z.object({ kW: z.number(), at: moment, shortKWh: z.number() })

export const comparedWire = z
  .object({
    moved: z.number().int(),
    added: z.number().int(),
    gone: z.number().int(),
    byLot: z.array(z.object({ lotCode: z.string(), moved: z.number().int(), largestShiftMin: z.number() })),
    byDay: z.array(z.object({ on: day, moved: z.number().int() })),
    byPerson: z
      .array(z.object({ personId: z.string(), before: z.number(), after: z.number() }))
      .openapi({ description: 'Minutes of work in the next 14 days' }),
    lateTasks: counts,
    brokenHard: counts,
    brokenSoft: counts,
    freshBroken: z.array(z.string()).openapi({ description: 'Rules the trial breaks and the plan keeps' }),
    mendedBroken: z.array(z.string()),
    overtimeMin: counts.openapi({ description: 'Minutes of work outside people’s own shifts in the next 14 days' }),
    press: z.object({ before: pressDay, after: pressDay }).openapi({ description: 'The fullest press day of 31' }),
    cooling: z.object({ before: cold, after: cold }).openapi({
      description: 'The most cold asked for in an hour of the next 31 days, and what the chillers fall short of in all',
    }),
    finish: z.array(z.object({ lotCode: z.string(), dry: maybeMoment, finish: maybeMoment })),
  })
  .openapi('TrialNumbers')

export const trialPlanWire = z
  .object({
    trial: trialWire,
    tasks: z.array(taskWire),
    phases: z.array(phaseWire),
    broken: z.array(brokenWire),
    conflicts: z.array(conflictWire),
    changed: z.array(movedWire),
    numbers: comparedWire,
    plannedOn: z.object({ revision: z.number().int(), plannedAt: moment }),
    nowAt: moment,
  })
  .openapi('TrialPlan')
