import { z } from '@hono/zod-openapi'
import { listLots } from '../../db/queries/lots.ts'
import { listSeenTasks } from '../../db/queries/seen-tasks.ts'
import { findTask } from '../../db/queries/tasks.ts'
import { code, id, span } from '../fields.ts'
import { problem } from '../problem.ts'
import { type TaskWire, taskWire } from '../wire.ts'
import { windowOf } from './plan.ts'
import { tasksToJson, tasksToWire } from './read.ts'
import { answers, answerText, describe, routes } from './route.ts'

export const taskParam = z.object({
  lot: code,
  step: z
    .string()
    .regex(/^[a-z0-9][a-z0-9-]{0,63}$/, 'must be a kind of work')
    .openapi({ example: 'press' }),
  count: z
    .string()
    .regex(/^[0-9]{1,5}$/, 'must be a whole number')
    .openapi({ example: '1' }),
})

export const keyOf = (p: z.infer<typeof taskParam>) => `${p.lot}/${p.step}/${p.count}`

export const tasks = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/tasks',
      operationId: 'listTasks',
      tags: ['Tasks'],
      summary: 'Tasks that touch a span, by start: of one lot, of one person, or all',
      request: { query: span.extend({ lot: id.optional(), person: id.optional() }) },
      responses: { 200: answers(z.object({ tasks: z.array(taskWire) }), 'By start') },
    }),
    async (c) => {
      const { db, who } = c.var
      const query = c.req.valid('query')
      const lot =
        query.lot && (await listLots(db, who.cellarId)).find((l) => l.id === query.lot || l.code === query.lot)
      if (query.lot && !lot) throw problem(404, 'unknown-lot', `There is no lot ${query.lot}`)
      const found = await listSeenTasks(db, who.cellarId, {
        ...windowOf(query),
        ...(lot ? { lotId: lot.id } : {}),
        ...(query.person ? { personId: query.person } : {}),
      })
      return answerText<{ tasks: TaskWire[] }>(
        c,
        `{"tasks":${await tasksToJson(db, who.cellarId, found, c.var.now(), 'all')}}`,
      )
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/tasks/{lot}/{step}/{count}',
      operationId: 'getTask',
      tags: ['Tasks'],
      summary: 'One task',
      request: { params: taskParam },
      responses: { 200: answers(taskWire, 'The task') },
    }),
    async (c) => {
      const { db, who } = c.var
      const key = keyOf(c.req.valid('param'))
      const found = await findTask(db, who.cellarId, key)
      if (!found) throw problem(404, 'unknown-task', `There is no task ${key}`)
      const [task] = await tasksToWire(db, who.cellarId, [found], c.var.now())
      return c.json(task!, 200)
    },
  )
