import { z } from '@hono/zod-openapi'
import { countOperations, listUnsettled } from '../../db/queries/operations.ts'
import { shownError } from '../log.ts'
import { takeOperation } from '../operations/apply.ts'
import { answersWire, answerWire, operationsBody } from '../operations/body.ts'
import { startBatch } from '../operations/ground.ts'
import type { Because } from '../protocol/moved.ts'
import { moment } from '../wire.ts'
import { answers, describe, routes, takes } from './route.ts'
import { planSoon } from './soon.ts'

const unsettledWire = z
  .object({
    operations: z.array(
      answerWire.extend({
        kind: z.string(),
        taskKey: z.string().optional(),
        personId: z.string(),
        occurredAt: moment,
        writtenAt: moment,
      }),
    ),
  })
  .openapi('UnsettledOperations')

export type UnsettledWire = z.infer<typeof unsettledWire>

export const operations = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/operations',
      operationId: 'sendOperations',
      tags: ['Floor'],
      summary:
        'Acts that a phone kept, in order; each stands or falls by itself, and counts once however often it comes',
      request: { body: takes(operationsBody) },
      responses: { 200: answers(answersWire, 'An answer for each, in the same order') },
    }),
    async (c) => {
      const { db, who, log, requestId } = c.var
      const { deviceId, operations: sent } = c.req.valid('json')
      const told = []
      const causes: Because[] = []
      const batch = startBatch(c)
      for (const op of sent) {
        try {
          const { answer, because } = await takeOperation(batch, deviceId, op)
          told.push(answer)
          if (because) causes.push(because)
        } catch (error) {
          log.error({ requestId, ...shownError(error) }, 'an operation broke')
          // It was not taken; those behind it may stand on it.
          told.push({
            opId: op.opId,
            state: 'later' as const,
            reason: 'broken',
            words: 'The server could not take it now',
          })
          break
        }
      }
      planSoon(c, causes)
      const held = await countOperations(db, who.cellarId, deviceId, who.personId)
      return c.json({ from: 'leesway' as const, nowAt: c.var.now().toString(), held, answers: told }, 200)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/operations',
      operationId: 'listUnsettledOperations',
      tags: ['Floor'],
      summary: 'What phones sent that was not accepted, or that somebody should look at: one’s own; all for who leads',
      responses: { 200: answers(unsettledWire, 'Newest first') },
    }),
    async (c) => {
      const { db, who } = c.var
      const leads = who.role === 'owner' || who.role === 'winemaker'
      const found = await listUnsettled(db, who.cellarId, leads ? undefined : who.personId)
      return c.json(
        {
          operations: found.map((op) => ({
            ...op.answer,
            errors: op.answer.errors && [...op.answer.errors],
            opId: op.opId,
            kind: op.kind,
            ...(op.taskKey ? { taskKey: op.taskKey } : {}),
            personId: op.personId,
            occurredAt: op.occurredAt.toString(),
            writtenAt: op.writtenAt.toString(),
          })),
        },
        200,
      )
    },
  )
