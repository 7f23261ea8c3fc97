import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findPlan } from '../../db/queries/plans.ts'
import { listAllTasks } from '../../db/queries/seen-tasks.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { type ActBody, type Ground, told } from '../acts.ts'
import { id, moment, wallTime } from '../fields.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import type { Facts, TaskFact } from '../protocol/facts.ts'
import type { BrokenWords } from '../protocol/types.ts'
import { tryPlan } from '../replan.ts'
import { differences, type MovedWire, movedWire } from '../shapes/moved.ts'
import { brokenWire } from '../wire.ts'
import { groundOf, taskFor } from './acts.ts'
import { askedBy } from './anew.ts'
import { taskNames } from './read.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'
import { keyOf, taskParam } from './tasks.ts'

const previewBody = z
  .strictObject({
    startAt: moment.optional(),
    startAtLocal: wallTime.optional(),
    people: z.array(id).max(20).optional(),
    vessels: z.array(id).max(100).optional(),
    andFollows: z.boolean().default(true).openapi({ description: 'false: the lot’s other tasks stay where they are' }),
  })
  .openapi('MovePreview', { example: { startAt: '2027-03-24T20:00:00Z', andFollows: true } })

const previewed = z
  .object({
    allowed: z.boolean().openapi({ description: 'No hard rule breaks. A pin is kept even where one does' }),
    words: z.string().openapi({ description: 'Which link, booking or shift breaks, and how much moves' }),
    broken: z.array(brokenWire),
    changed: z.array(movedWire),
  })
  .openapi('MovePreviewed')

export const preview = routes().openapi(
  describe({
    method: 'post',
    path: '/api/tasks/{lot}/{step}/{count}/preview',
    operationId: 'previewMove',
    tags: ['Tasks'],
    summary: 'What would break and what would move if the task stood elsewhere. Nothing is stored',
    request: { params: taskParam, body: takes(previewBody) },
    responses: { 200: answers(previewed, 'What would be') },
  }),
  async (c) => c.json(await previewMove(c, keyOf(c.req.valid('param')), c.req.valid('json')), 200),
)

async function previewMove(c: Context<AppEnv>, key: string, { andFollows, ...body }: z.output<typeof previewBody>) {
  const { db, who } = c.var
  const nowAt = c.var.now()
  const task = await taskFor(c, key)
  if (task.state === 'done' || task.state === 'cancelled') {
    throw problem(409, `already-${task.state}`, `This task is ${task.state}: it cannot be moved`)
  }
  const ground = await groundOf(c, task)
  const stored = await listAllTasks(db, who.cellarId)
  const kept = andFollows ? [] : stored.filter((t) => t.lotId === task.lotId && t.key !== key && isOpen(t))
  const facts = [...kept.map((t) => pinOf(t, ground)), told('pin', body as ActBody, ground).fact]
  const withPins = (f: Facts): Facts => ({ ...f, taskFacts: [...f.taskFacts, ...facts] })
  const plan = await tryPlan(db, who.cellarId, nowAt, withPins, askedBy(c))
  const before = await findPlan(db, who.cellarId)
  const broken = fresh(plan.broken, before.broken)
  const changed = differences(stored, plan.tasks, await taskNames(db, who.cellarId, nowAt), ground.zone)
  return {
    allowed: !broken.some((b) => b.strength === 'hard'),
    words: inWords(key, broken, changed),
    broken: broken.map((b) => ({ ...b, taskKeys: [...b.taskKeys] })),
    changed,
  }
}

function inWords(key: string, broken: readonly BrokenWords[], changed: readonly MovedWire[]): string {
  const others = changed.filter((t) => t.key !== key)
  const named = others.slice(0, 3).map((t) => `${t.lotCode} ${t.name}`)
  const rest = others.length > 3 ? ` and ${others.length - 3} more` : ''
  return [
    ...broken.map((b) => b.words),
    ...(broken.length === 0 ? ['No rule breaks.'] : []),
    others.length === 0 ? 'Nothing else moves.' : `Also changed: ${named.join(', ')}${rest}.`,
  ].join(' ')
}

const isOpen = (t: StoredTask) => t.state === 'planned' || t.state === 'due' || t.state === 'blocked'

const pinOf = (t: StoredTask, ground: Ground): TaskFact => ({
  id: newId(ground.nowAt.epochMilliseconds),
  taskKey: t.key,
  kind: 'pin',
  at: ground.nowAt,
  startAt: t.startAt,
})

/** Broken rules that are not broken now. */
function fresh(after: readonly BrokenWords[], before: readonly BrokenWords[]): readonly BrokenWords[] {
  const sign = (b: BrokenWords) => [b.rule, ...b.taskKeys].join(' ')
  const known = new Set(before.map(sign))
  return after.filter((b) => !known.has(sign(b)))
}
