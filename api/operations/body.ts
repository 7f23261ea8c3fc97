/** What a phone sends: acts that were kept on it, each under an id that it made. */
import { z } from '@hono/zod-openapi'
import { ACTS } from '../acts.ts'
import { id, moment, opId } from '../fields.ts'

export const OPERATION_KINDS = [...ACTS, 'undo', 'readings', 'trouble', 'photo', 'handover', 'settle'] as const
export type OperationKind = (typeof OPERATION_KINDS)[number]

/** The shape of operations that this server writes and reads. Raised when the shape changes; the one before stays readable. */
export const OPERATION_SCHEMA = 1

/** A batch holds no more. */
export const OPERATIONS_MAX = 50

const dose = z.strictObject({ product: z.string().max(80), amount: z.number(), unit: z.string().max(8) })

/** What was on the screen when the person acted. */
export const baseBody = z
  .strictObject({
    told: z.string().max(64).optional().openapi({
      description: 'What stood told of the task: the `told` of the task, or the operation that made it on this phone',
    }),
    doses: z.array(dose).max(20).optional(),
  })
  .openapi('OperationBase')

export const operationBody = z
  .strictObject({
    opId,
    schema: z.number().int().min(1).max(1000),
    author: id.openapi({ description: 'Person id: only sent, and only taken, while this person is signed in' }),
    cellar: id,
    kind: z
      .string()
      .max(20)
      .openapi({ example: 'done', description: OPERATION_KINDS.join(', ') }),
    taskKey: z.string().max(64).optional(),
    value: z.record(z.string(), z.unknown()).openapi({ description: 'The body that the route of this kind takes' }),
    base: baseBody.optional(),
    occurredAt: moment.openapi({ description: 'By the clock of the phone' }),
    clockOffsetMs: z
      .number()
      .int()
      .min(-2_000_000_000_000)
      .max(2_000_000_000_000)
      .openapi({ description: 'How far that clock was ahead of the server’s when they last spoke' }),
  })
  .openapi('Operation')

export type OperationBody = z.output<typeof operationBody>

export const operationsBody = z
  .strictObject({
    deviceId: z.uuid(),
    operations: z.array(operationBody).max(OPERATIONS_MAX),
  })
  .openapi('Operations', {
    example: {
      deviceId: '00000000-0000-4000-8000-000000000001',
      operations: [
        {
          opId: '00000000-0000-4000-8000-000000000002',
          schema: 1,
          author: 'kim',
          cellar: 'ostrel-yard',
          kind: 'note',
          taskKey: 'L01/press/1',
          value: { note: 'smells clean' },
          occurredAt: '2027-03-22T08:00:00Z',
          clockOffsetMs: 0,
        },
      ],
    },
  })

export const answerWire = z
  .object({
    opId: z.string(),
    state: z.enum(['stored', 'check', 'refused', 'later']).openapi({
      description:
        'check: stored, and somebody should look; refused: kept as offered; later: not taken yet, send again',
    }),
    words: z.string(),
    reason: z.string().optional().openapi({ description: 'To branch on: second-tick, old-plan, a problem’s type' }),
    errors: z.array(z.object({ pointer: z.string(), detail: z.string() })).optional(),
    theirs: z
      .object({ words: z.string(), personId: z.string().optional(), at: moment.optional() })
      .optional()
      .openapi({ description: 'What stands instead' }),
  })
  .openapi('OperationAnswer')

export type AnswerWire = z.infer<typeof answerWire>

export const answersWire = z
  .object({
    from: z.literal('leesway').openapi({ description: 'Tells our answer from a page that somebody put in between' }),
    nowAt: moment,
    held: z.number().int().openapi({
      description:
        'Operations of this phone and person that are here. Falls when a server was restored from a copy: send again',
    }),
    answers: z.array(answerWire),
  })
  .openapi('OperationAnswers')

export type AnswersWire = z.infer<typeof answersWire>
