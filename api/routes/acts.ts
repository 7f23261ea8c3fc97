/** What people do to a task: each act is a fact, stored once, then planned anew. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { lockPlan } from '../../db/queries/locks.ts'
import { findLot } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import {
  listReadings,
  listTaskFacts,
  recordAdditions,
  recordReadings,
  recordTaskFacts,
  type StoredTaskFact,
} from '../../db/queries/records.ts'
import { findTask, type StoredTask } from '../../db/queries/tasks.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { type Act, type ActBody, actBody, type Ground, type Told, told } from '../acts.ts'
import { opId, prose } from '../fields.ts'
import { newId } from '../ids.ts'
import { followWork } from '../ledger/states.ts'
import { bookAdditions, bookAgain, bookTick, type TickMove, takeBackTick } from '../ledger/tick.ts'
import { fieldProblem, operationUsed, problem } from '../problem.ts'
import type { Reading } from '../protocol/facts.ts'
import type { Because } from '../protocol/moved.ts'
import { stepOf } from '../protocol/steps.ts'
import { closedBy, standing } from '../shapes/task.ts'
import type { Temporal } from '../time.ts'
import { type TaskWire, taskWire } from '../wire.ts'
import { type Anew, anewShape, askedBy, asPlanned, planAnew } from './anew.ts'
import { tasksToWire } from './read.ts'
import { type AppEnv, answers, describe, routes, type Scene, takes } from './route.ts'
import { so2LockOf } from './so2-lock.ts'
import { stayPins, staysOf, stillStays } from './stays.ts'
import { keyOf, taskParam } from './tasks.ts'

const acted = z
  .object({
    task: taskWire,
    ...anewShape,
    warnings: z.array(z.string()).openapi({ description: 'Readings that are hard to believe: measure again' }),
  })
  .openapi('TaskActed')

const act = <A extends Act>(name: A, summary: string) =>
  describe({
    method: 'post',
    path: `/api/tasks/{lot}/{step}/{count}/${name}`,
    operationId: `${name}Task` as const,
    tags: ['Tasks'],
    summary,
    request: { params: taskParam, body: takes(actBody) },
    responses: { 200: answers(acted, 'The task now, and what else changed') },
  })

const undoBody = z
  .strictObject({ opId: opId.optional(), reason: prose(500).optional() })
  .openapi('TaskUndo', { example: { reason: 'wrong task' } })

export const acts = routes()
  .openapi(act('start', 'It is begun'), async (c) =>
    c.json(await tell(c, 'start', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('done', 'It is done, with what was measured, added and moved'), async (c) =>
    c.json(await tell(c, 'done', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('skip', 'It is not done, with the reason where the work asks for one'), async (c) =>
    c.json(await tell(c, 'skip', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('pin', 'It stands where a person put it, even where a rule breaks'), async (c) =>
    c.json(await tell(c, 'pin', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('unpin', 'The planner places it again'), async (c) =>
    c.json(await tell(c, 'unpin', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('assign', 'These people are to do it'), async (c) =>
    c.json(await tell(c, 'assign', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('note', 'A note, or readings and additions beside the plan'), async (c) =>
    c.json(await tell(c, 'note', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('acknowledge', 'Its doses were looked at again after they changed'), async (c) =>
    c.json(await tell(c, 'acknowledge', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(act('caution', 'Its caution was read, in the words of the reason, before it is begun'), async (c) =>
    c.json(await tell(c, 'caution', keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/tasks/{lot}/{step}/{count}/undo',
      operationId: 'undoTask',
      tags: ['Tasks'],
      summary: 'Takes back the last thing told of it. Readings stay: correct them by a new reading',
      request: { params: taskParam, body: takes(undoBody) },
      responses: { 200: answers(acted, 'The task now, and what else changed') },
    }),
    async (c) => c.json(await undo(c, keyOf(c.req.valid('param')), c.req.valid('json')), 200),
  )

async function tell(c: Context<AppEnv>, name: Act, key: string, body: ActBody) {
  const { db, who } = c.var
  const task = await taskFor(c, key)
  const facts = await listTaskFacts(db, who.cellarId, key)
  if (resent(facts, name, body.opId)) return { ...(await asItIs(c, key)), warnings: [] }
  await refuseWrongState(c, name, task, facts, body)
  const ground = await groundOf(c, task)
  const entry = told(name, body, ground)
  const locked = await so2LockOf(c, name, task, ground, entry)
  const nowAt = c.var.now()
  const stays =
    name === 'pin' && body.andFollows === false
      ? await stayPins(db, who.cellarId, task, entry.fact, nowAt, askedBy(c))
      : undefined
  const booked = await db.transaction(async (tx) => {
    if (!stays) return storeTold(tx, who.cellarId, entry, nowAt)
    // Thinking it out took a while, in which others went on.
    await lockPlan(tx, who.cellarId)
    const known = await listTaskFacts(tx, who.cellarId, key)
    if (resent(known, name, body.opId)) return []
    const scene = { var: { ...c.var, db: tx } }
    await refuseWrongState(scene, name, await taskFor(scene, key), known, body)
    const still = await stillStays(tx, who.cellarId, stays)
    const warnings = await storeTold(tx, who.cellarId, entry, nowAt)
    await recordTaskFacts(tx, who.cellarId, still, nowAt)
    return warnings
  })
  // Words alone move nothing.
  const isWords =
    (name === 'note' || name === 'acknowledge' || name === 'caution') &&
    entry.readings.length + entry.additions.length + entry.transfers.length === 0
  const because = {
    lotId: task.lotId,
    words: `${task.lotCode} ${task.name.toLowerCase()} ${BECAUSE[name]}`,
    asks: !DECIDES.has(name),
  }
  const warnings = [...entry.warnings, ...booked, ...(locked ? [locked] : [])]
  return { ...(await (isWords ? asItIs(c, key) : now(c, key, because))), warnings }
}

/** All that was told of a task. Call it in one transaction; another copy of the same request may have been faster, then its readings stand. */
export async function storeTold(
  db: Db,
  cellarId: string,
  entry: Told,
  nowAt: Temporal.Instant,
): Promise<readonly string[]> {
  const { opId } = entry.fact
  const stored = await recordTaskFacts(db, cellarId, [entry.fact], nowAt)
  if (stored.length === 0) return []
  await recordReadings(db, cellarId, entry.readings, nowAt, opId)
  await recordAdditions(db, cellarId, entry.additions, nowAt, opId)
  await bookAdditions(db, cellarId, entry.additions)
  if (entry.fact.kind === 'done' && !entry.move) await bookAgain(db, cellarId, entry.fact, nowAt)
  if (entry.fact.kind === 'done') await followWork(db, cellarId, entry.fact)
  if (!entry.move) return []
  const booked = await bookTick(db, cellarId, entry.move, { opId: entry.fact.id, writtenAt: nowAt })
  if (booked.dipL !== undefined)
    await recordReadings(db, cellarId, [dipOf(entry.move, booked.dipL, nowAt)], nowAt, opId)
  return booked.warnings
}

/** Litres that found no place in the ledger are still what the lot measured. */
const dipOf = (move: TickMove, volumeL: number, nowAt: Temporal.Instant): Reading => ({
  id: newId(nowAt.epochMilliseconds),
  lotId: move.lot.id,
  kind: 'volume',
  value: volumeL,
  takenAt: move.at,
  ...(move.people[0] === undefined ? {} : { personId: move.people[0] }),
  taskKey: move.taskKey,
})

/** Whoever places a task or gives it to others has decided; what happened asks before it moves the work of others. */
const DECIDES: ReadonlySet<Act> = new Set(['pin', 'unpin', 'assign'])

export const BECAUSE: Readonly<Record<Act, string>> = {
  start: 'was begun',
  done: 'was done',
  skip: 'was left out',
  pin: 'was pinned',
  unpin: 'was let go',
  assign: 'was given to others',
  note: 'was told of',
  acknowledge: 'was looked at',
  caution: 'was read before',
}

async function undo(c: Context<AppEnv>, key: string, body: { opId?: string | undefined; reason?: string | undefined }) {
  const { db, who } = c.var
  await taskFor(c, key)
  const facts = await listTaskFacts(db, who.cellarId, key)
  if (resent(facts, 'undo', body.opId)) return { ...(await asItIs(c, key)), warnings: [] }
  const last = standing(facts).findLast((f) => f.kind !== 'note' && f.kind !== 'acknowledge' && f.kind !== 'caution')
  if (!last) {
    throw problem(409, 'nothing-to-undo', 'There is nothing to take back', { current: (await asItIs(c, key)).task })
  }
  if (last.personId !== who.personId && who.role !== 'owner' && who.role !== 'winemaker') {
    throw problem(403, 'not-yours', 'Somebody else told this: a winemaker may take it back')
  }
  const nowAt = c.var.now()
  // An undo is read after what it takes back, whichever clock told that.
  const at = last.at.epochMilliseconds > nowAt.epochMilliseconds ? last.at : nowAt
  const fact = {
    id: newId(nowAt.epochMilliseconds),
    ...(body.opId ? { opId: body.opId } : {}),
    taskKey: key,
    kind: 'undo' as const,
    at,
    personId: who.personId,
    undoesId: last.id,
    ...(body.reason ? { reason: body.reason } : {}),
  }
  const along = (await staysOf(db, who.cellarId, last)).map((stay) => ({
    id: newId(nowAt.epochMilliseconds),
    taskKey: stay.taskKey,
    kind: 'undo' as const,
    at,
    personId: who.personId,
    undoesId: stay.id,
  }))
  await db.transaction(async (tx) => {
    await recordTaskFacts(tx, who.cellarId, [fact, ...along], nowAt)
    const reason = body.reason?.trim() || 'the tick was taken back'
    if (last.kind === 'done') await takeBackTick(tx, who.cellarId, last, { undoId: fact.id, writtenAt: nowAt, reason })
  })
  return { ...(await now(c, key)), warnings: [] }
}

export async function taskFor(c: Scene, key: string): Promise<StoredTask> {
  const task = await findTask(c.var.db, c.var.who.cellarId, key)
  if (!task) throw problem(404, 'unknown-task', `There is no task ${key}`)
  return task
}

async function now(c: Context<AppEnv>, key: string, because?: Because) {
  const anew = await planAnew(c, c.var.who.cellarId, because)
  return { task: await taskNow(c, key), ...anew }
}

/** Without planning anew: nothing that moves a task has changed. */
async function asItIs(c: Context<AppEnv>, key: string): Promise<Anew & { readonly task: TaskWire }> {
  return { task: await taskNow(c, key), ...(await asPlanned(c)) }
}

async function taskNow(c: Context<AppEnv>, key: string): Promise<TaskWire> {
  const [task] = await tasksToWire(c.var.db, c.var.who.cellarId, [await taskFor(c, key)], c.var.now())
  return task!
}

/** The same operation again: answered, not stored. The same id for something else is a bug of the caller. */
function resent(facts: readonly StoredTaskFact[], kind: string, op: string | undefined): boolean {
  const known = op === undefined ? undefined : facts.find((f) => f.opId === op)
  if (!known) return false
  if (known.kind === kind) return true
  throw operationUsed(known.kind)
}

async function refuseWrongState(
  c: Scene,
  name: Act,
  task: StoredTask,
  facts: readonly StoredTaskFact[],
  body: ActBody,
): Promise<void> {
  if (name === 'note') return
  const closed = closedBy(task, standing(facts))
  if (closed) {
    const [current] = await tasksToWire(c.var.db, c.var.who.cellarId, [task], c.var.now())
    throw problem(409, `already-${closed}`, `This task is ${closed} already`, {
      current,
      detail: closed === 'cancelled' ? (task.cancelReason ?? '') : 'Undo it first.',
    })
  }
  if (name === 'unpin' && !task.rest.pinned && !standing(facts).some((f) => f.kind === 'pin')) {
    throw problem(409, 'not-pinned', 'Nobody has pinned this task')
  }
  if (name === 'skip') refuseSkip(task, body)
}

/** @throws a problem where the work cannot be left out, or not without a reason */
export function refuseSkip(task: Pick<StoredTask, 'step'>, body: ActBody): void {
  const step = stepOf(task.step)
  if (step.skippable === 'no') {
    throw problem(422, 'not-skippable', 'This work cannot be left out', { detail: step.skipNote })
  }
  if (step.skippable === 'with-reason' && !body.reason?.trim()) {
    throw fieldProblem('#/reason', `is missing: say why. ${step.skipNote}`.trim())
  }
}

/** Where the plan would move it, and how much. */
export const plannedOf = ({ rest }: StoredTask): NonNullable<Ground['planned']> => ({
  from: rest.fromVessels,
  to: rest.toVessels,
  ...(rest.volumeL === undefined ? {} : { volumeL: rest.volumeL }),
})

export async function groundOf(c: Scene, task: StoredTask): Promise<Ground> {
  const { db, who } = c.var
  const cellar = await findCellar(db, who.cellarId)
  return {
    taskKey: task.key,
    lot: task.lotId === null ? undefined : await findLot(db, who.cellarId, task.lotId),
    people: await listPeople(db, who.cellarId),
    vessels: await listVessels(db, who.cellarId),
    zone: cellar?.zone ?? 'UTC',
    nowAt: c.var.now(),
    personId: who.personId,
    planned: plannedOf(task),
    ...(task.lotId === null ? {} : { earlier: await listReadings(db, who.cellarId, task.lotId) }),
  }
}
