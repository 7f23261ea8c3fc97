/** What people send to the ledger, and what they ask of it. */
import { z } from '@hono/zod-openapi'
import { code, day, id, line, moment, opId, prose, wallTime } from './fields.ts'
import { choices } from './protocol/choices.ts'

const litres = z.number().gt(0).max(1_000_000).openapi({ description: 'Litres, to the millilitre', example: 1200 })
const dip = z.number().min(0).max(1_000_000).optional()

/** Why wine moved, in the trade's words. */
export const MOVE_CAUSES = ['rack', 'fill', 'top', 'blend', 'level', 'transfer', 'return'] as const
export const LOSS_CAUSES = [
  'lees',
  'spill',
  'foam-over',
  'leak',
  'evaporation',
  'filter',
  'pump and hose',
  'gauge',
  'other',
] as const
export const GAIN_CAUSES = ['gauge', 'not written down', 'other'] as const

const when = {
  at: moment.optional().openapi({ description: 'When it happened. Absent: now' }),
  atLocal: wallTime.optional(),
}
const told = {
  opId: opId.optional(),
  ...when,
  people: z.array(id).max(20).optional().openapi({ description: 'Person ids. Absent: whoever sends it' }),
  reason: prose(500).optional(),
}

/** One kind of entry a form. Vessels and lots by code or id. */
export const movementBody = z
  .discriminatedUnion('kind', [
    z.strictObject({
      kind: z.literal('receive'),
      ...told,
      to: id,
      lot: id,
      volumeL: litres,
      bought: z.boolean().default(false).openapi({ description: 'Bought as juice or wine; else from own fruit' }),
      /** Bought only; own fruit takes the lot's. */
      variety: line(80).optional(),
      vintage: line(10).optional(),
      block: prose(80).optional(),
      origin: line(80).optional(),
    }),
    z.strictObject({
      kind: z.literal('move'),
      ...told,
      from: id,
      to: id,
      volumeL: litres.optional().openapi({ description: 'What arrived. Absent: all that is there' }),
      lossL: z.number().min(0).max(100_000).default(0).openapi({ description: 'Left the source and did not arrive' }),
      lossCause: z.enum(LOSS_CAUSES).default('lees'),
      cause: z.enum(MOVE_CAUSES).default('rack'),
      measuredBeforeL: dip,
      measuredAfterL: dip,
      /** Another lot lies in the target: the arriving wine becomes part of it. Needs the reason only when quarantined. */
      intoOther: z.boolean().default(false),
    }),
    z.strictObject({
      kind: z.literal('leave'),
      ...told,
      from: id,
      to: z.enum(['loss', 'lees', 'sample', 'sale', 'bottled', 'distillation']),
      volumeL: litres.optional().openapi({ description: 'Absent: all that is there' }),
      cause: z.enum(LOSS_CAUSES).optional().openapi({ description: 'Losses only' }),
    }),
    z.strictObject({
      kind: z.literal('gain'),
      ...told,
      to: id,
      volumeL: litres,
      cause: z.enum(GAIN_CAUSES).default('gauge'),
    }),
  ])
  .openapi('NewMovement', {
    example: { kind: 'receive', to: 'T01', lot: 'L01', volumeL: 3450 },
  })

export const correctBody = z
  .strictObject({
    opId: opId.optional(),
    reason: line(500),
    /** What truly happened, where something did. Its moment is the wrong entry's unless it says another. */
    instead: movementBody.optional(),
  })
  .openapi('MovementCorrection', { example: { reason: 'wrong vessel' } })

const child = z.strictObject({
  code,
  name: line(80),
  /** Vessels that become the child's as they stand. */
  vessels: z.array(id).max(100).default([]),
  /** Litres to be moved for it: `from` one of the lot's vessels `to` an empty one. */
  moves: z
    .array(z.strictObject({ from: id, to: id, volumeL: litres.optional() }))
    .max(100)
    .default([]),
  /** Answers of its own from now on. Absent: the parent's. */
  choices: choices.strict().optional(),
})

export const splitBody = z
  .strictObject({
    ...told,
    lot: id,
    children: z.array(child).min(1).max(20),
  })
  .openapi('LotSplit', {
    example: { lot: 'L10', children: [{ code: 'L10a', name: 'Amphora', vessels: ['T18'], moves: [] }] },
  })

export const mergeBody = z
  .strictObject({
    ...told,
    code,
    name: line(80),
    /** Whose answers the new lot goes on with; one of the parents. Absent: the one with most litres in it. */
    planFrom: id.optional(),
    choices: choices.strict().optional(),
    moves: z
      .array(
        z.strictObject({
          from: id,
          to: id,
          volumeL: litres.optional().openapi({ description: 'Absent: all that is there' }),
          lossL: z.number().min(0).max(100_000).default(0),
        }),
      )
      .max(100)
      .default([]),
    /** Vessels whose wine is part of it where it lies. */
    vessels: z.array(id).max(100).default([]),
  })
  .openapi('LotMerge', {
    example: {
      code: 'TAI',
      name: 'Taille blend',
      vessels: ['T14'],
      moves: [{ from: 'C1', to: 'T14' }],
    },
  })

export const renameBody = z
  .strictObject({ opId: opId.optional(), name: line(80), reason: prose(500).optional() })
  .openapi('LotRename', { example: { name: 'Taille blend' } })

export const quarantineBody = z
  .strictObject({ on: z.boolean(), reason: line(500) })
  .openapi('QuarantineChange', { example: { on: true, reason: 'volatile acidity rising' } })

export const countBody = z
  .strictObject({
    opId: opId.optional(),
    ...when,
    lines: z
      .array(
        z.strictObject({
          vessel: id,
          volumeL: z.number().min(0).max(1_000_000),
          cause: z.enum(LOSS_CAUSES).optional(),
          reason: prose(500).optional(),
        }),
      )
      .min(1)
      .max(500),
  })
  .openapi('StockCount', { example: { lines: [{ vessel: 'T01', volumeL: 5760 }] } })

export const additionCorrectBody = z
  .strictObject({
    reason: line(500),
    /** What truly went in. Absent: nothing did. */
    instead: z
      .strictObject({
        product: line(80),
        amount: z.number().min(0).max(1_000_000),
        unit: z.enum(['g', 'kg', 'mL', 'L']),
        batchNo: line(60).optional(),
        treatedL: z.number().gt(0).max(1_000_000),
        vessel: id.optional(),
      })
      .optional(),
  })
  .openapi('AdditionCorrection', { example: { reason: 'weighed 90 g, not 900 g' } })

export const atQuery = z.object({ at: moment.optional().openapi({ description: 'As it was then. Absent: now' }) })
export const previewQuery = z.object({
  preview: z
    .enum(['true', 'false'])
    .default('false')
    .openapi({ description: 'true: say what it would do, write nothing' }),
})

export const traceQuery = z.object({
  lot: id.optional().openapi({ description: 'Lot code or id; or a vessel' }),
  vessel: id.optional().openapi({ example: undefined, description: 'Vessel code or id' }),
  direction: z.enum(['back', 'forward']).default('back'),
  at: moment.optional().openapi({ description: 'Back: the wine as it was then' }),
  since: moment.optional().openapi({ description: 'Forward: where it went since then' }),
})

export const movementsQuery = z.object({
  from: moment.optional(),
  to: moment.optional(),
  vessel: id.optional().openapi({ example: 'T01' }),
  lot: id.optional(),
  task: z.string().max(80).optional().openapi({ description: 'Task key' }),
  before: z.string().max(80).optional().openapi({ description: '`next` of the page before' }),
  limit: z.coerce.number().int().min(1).max(500).default(100),
})

export const REGISTERS = ['vessels', 'lots', 'additions', 'balance', 'composition', 'stock'] as const
export type RegisterName = (typeof REGISTERS)[number]

export const registerParam = z.object({ name: z.enum(REGISTERS).openapi({ example: 'vessels' }) })
export const registerQuery = z.object({
  from: day,
  to: day.openapi({ description: 'The last day of the period' }),
  vessel: id.optional().openapi({ example: 'T01' }),
  lot: id.optional(),
  unit: z.enum(['L', 'gal']).default('L').openapi({ description: 'US wine gallons where chosen' }),
})

export const spanQuery = z.object({ from: day.optional(), to: day.optional() })

export type MovementBody = z.output<typeof movementBody>
export type SplitBody = z.output<typeof splitBody>
export type MergeBody = z.output<typeof mergeBody>
