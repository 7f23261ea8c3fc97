/** What if: changes tried out on a copy, compared with the plan, then adopted or dropped. */

import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { listLots } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { findTasks, listTasks } from '../../db/queries/tasks.ts'
import { addTrial, decideTrial, findTrial, listTrials, type StoredTrial } from '../../db/queries/trials.ts'
import { listMachines, listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { id } from '../fields.ts'
import { newId } from '../ids.ts'
import { problem } from '../problem.ts'
import type { Lot } from '../protocol/facts.ts'
import type { Hours } from '../protocol/moved.ts'
import { changedLot, moreLike } from '../protocol/trial/apply.ts'
import { hoursGained } from '../protocol/trial/stay.ts'
import { changeWords, type TrialNames } from '../protocol/trial/words.ts'
import { trialEntry } from '../record/trial.ts'
import { conflictToWire, phaseToWire } from '../shapes/lot.ts'
import { differences } from '../shapes/moved.ts'
import { plannedToWire } from '../shapes/task.ts'
import { Temporal } from '../time.ts'
import { adoptChanges, undoChanges } from '../trials/adopt.ts'
import { adoptBody, decideBody, newTrialBody, type TrialWire, trialPlanWire, trialWire } from '../trials/bodies.ts'
import { checkedChange } from '../trials/check.ts'
import { computeTrial } from '../trials/compute.ts'
import { heldVersionOf, stale } from '../version.ts'
import { anewShape, askedBy, planAnew } from './anew.ts'
import { accept } from './lot-at.ts'
import { taskNames, vesselNames } from './read.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const trialParam = z.object({ id: id.openapi({ example: '0192f7c0-0000-7000-8000-000000000001' }) })
const one = z.object({ trial: trialWire })
const decided = z.object({ trial: trialWire, ...anewShape })

export const trials = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/trials',
      operationId: 'listTrials',
      tags: ['What if'],
      summary: 'Trials, newest first',
      responses: { 200: answers(z.object({ trials: z.array(trialWire) }), 'At most 100') },
    }),
    async (c) => {
      const names = await trialNames(c)
      return c.json({ trials: (await listTrials(c.var.db, c.var.who.cellarId)).map((t) => trialToWire(t, names)) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/trials',
      operationId: 'addTrial',
      tags: ['What if'],
      summary: 'Keep changes to try out: press tomorrow, more fruit, a machine down, a person away, another choice',
      request: { body: takes(newTrialBody) },
      responses: { 201: answers(one, 'Kept; nothing real has changed') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const nowAt = c.var.now()
      const trialId = body.opId ?? newId(nowAt.epochMilliseconds)
      if (!(await findTrial(db, who.cellarId, trialId))) {
        const known = await knownTo(c)
        const changes = body.changes.map((change, i) => checkedChange(change, known, `#/changes/${i}`))
        const names = await trialNames(c)
        const name =
          body.name ??
          changes
            .map((change) => changeWords(change, names))
            .join('; ')
            .slice(0, 120)
        await addTrial(db, who.cellarId, { id: trialId, name, changes, createdAt: nowAt, createdBy: who.personId })
      }
      return c.json({ trial: await trialNow(c, trialId) }, 201)
    },
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/trials/{id}',
      operationId: 'getTrial',
      tags: ['What if'],
      summary: 'One trial',
      request: { params: trialParam },
      responses: { 200: answers(one, 'The trial') },
    }),
    async (c) => c.json({ trial: await trialNow(c, c.req.valid('param').id) }, 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/trials/{id}/plan',
      operationId: 'planTrial',
      tags: ['What if'],
      summary:
        'The plan it would give from what is known now, beside the plan as it stands. Close the request to cancel',
      request: { params: trialParam },
      responses: { 200: answers(trialPlanWire, 'Tasks, bands, what would change, and both plans in numbers') },
    }),
    async (c) => {
      const { db, who } = c.var
      const nowAt = c.var.now()
      const trial = await trialFor(c, c.req.valid('param').id)
      const { facts, plan, stored, numbers, plannedOn } = await computeTrial(db, who.cellarId, trial, nowAt, askedBy(c))
      const names = await taskNames(db, who.cellarId, nowAt)
      const lotNames = new Map(facts.lots.map((l) => [l.id, l.name]))
      const known = new Map(stored.map((t) => [t.key, t]))
      const vessels = await vesselNames(db, who.cellarId)
      return c.json(
        {
          trial: trialToWire(trial, await trialNames(c)),
          tasks: plan.tasks.map((t) => plannedToWire(t, known.get(t.key), { ...names, lotNames })),
          phases: plan.phases.map((p) => phaseToWire(p, vessels)),
          broken: plan.broken.map((b) => ({ ...b, taskKeys: [...b.taskKeys] })),
          conflicts: plan.conflicts.map(conflictToWire),
          changed: differences(stored, plan.tasks, { ...names, lotNames }, facts.cellar.zone),
          numbers: JSON.parse(JSON.stringify(numbers)) as z.output<typeof trialPlanWire>['numbers'],
          plannedOn: { revision: plannedOn.revision, plannedAt: plannedOn.plannedAt.toString() },
          nowAt: nowAt.toString(),
        },
        200,
      )
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/trials/{id}',
      operationId: 'dropTrial',
      tags: ['What if'],
      summary: 'Drop it: nothing real changes. It stays in the list as tried',
      request: { params: trialParam },
      responses: { 200: answers(one, 'Dropped') },
    }),
    async (c) => {
      const trial = await trialFor(c, c.req.valid('param').id)
      refuseDecided(trial, 'open')
      await decide(c, trial, 'dropped', trial.version)
      return c.json({ trial: await trialNow(c, trial.id) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/trials/{id}/adopt',
      operationId: 'adoptTrial',
      tags: ['What if'],
      summary: 'Its changes become facts and the plan is made anew. What is kept stays pinned where it stands',
      request: { params: trialParam, body: takes(adoptBody) },
      responses: { 200: answers(decided, 'Adopted') },
    }),
    async (c) => {
      const body = c.req.valid('json')
      const { db, who } = c.var
      const trial = await trialFor(c, c.req.valid('param').id)
      refuseDecided(trial, 'open')
      const held = heldVersionOf(c, body.version)
      const signed = await signedFor(c, trial, body.signed)
      const kept = await findTasks(db, who.cellarId, body.keep)
      const by = { personId: who.personId, at: c.var.now() }
      const before = await peopleNow(c)
      await db.transaction(async (tx) => {
        const undo = await adoptChanges(tx, who.cellarId, trial, by, signed, kept)
        await decide(c, trial, 'adopted', held, { db: tx, undo })
        await appendEntry(tx, who.cellarId, trialEntry(trial, 'adopted', by))
      })
      const gained = hoursGained(before, await peopleNow(c))
      return c.json(await anew(c, trial, `"${trial.name}" was adopted`, gained), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/trials/{id}/undo',
      operationId: 'undoTrial',
      tags: ['What if'],
      summary: 'Takes back all that adopting it changed. Refused where somebody has changed one of those things since',
      request: { params: trialParam, body: takes(decideBody) },
      responses: { 200: answers(decided, 'Taken back') },
    }),
    async (c) => {
      const { db, who } = c.var
      const trial = await trialFor(c, c.req.valid('param').id)
      refuseDecided(trial, 'adopted')
      const held = heldVersionOf(c, c.req.valid('json').version)
      const by = { personId: who.personId, at: c.var.now() }
      await db.transaction(async (tx) => {
        const done = await undoChanges(tx, who.cellarId, trial.undo ?? [], by)
        if (!done.ok) {
          throw problem(409, 'changed-since', 'This cannot be taken back in one step', {
            detail: `${done.why}. Change it by hand where it stands now.`,
          })
        }
        await decide(c, trial, 'undone', held, { db: tx })
        await appendEntry(tx, who.cellarId, trialEntry(trial, 'undone', by))
      })
      return c.json(await anew(c, trial, `"${trial.name}" was taken back`, awayIn(trial)), 200)
    },
  )

async function peopleNow(c: Context<AppEnv>) {
  const { db, who } = c.var
  const cellar = await findCellar(db, who.cellarId)
  if (!cellar) throw problem(404, 'unknown-cellar', 'There is no such cellar')
  return { cellar, people: await listPeople(db, who.cellarId) }
}

/** Hours in which somebody or something was away as long as it was adopted. */
const awayIn = (trial: StoredTrial): readonly Hours[] =>
  trial.changes.flatMap((change) =>
    change.kind === 'away' || change.kind === 'machine-down'
      ? [{ fromAt: Temporal.Instant.from(change.fromAt), toAt: Temporal.Instant.from(change.toAt) }]
      : [],
  )

async function anew(c: Context<AppEnv>, trial: StoredTrial, words: string, freed: readonly Hours[] = []) {
  const chosenFor = trial.changes.flatMap((change) => (change.kind === 'vessel' ? [change.lot] : []))
  const done = await planAnew(c, c.var.who.cellarId, { words, chosenFor, freed })
  return { trial: await trialNow(c, trial.id), ...done }
}

async function decide(
  c: Context<AppEnv>,
  trial: StoredTrial,
  state: 'adopted' | 'dropped' | 'undone',
  held: number,
  more: { readonly db?: Db; readonly undo?: Awaited<ReturnType<typeof adoptChanges>> } = {},
): Promise<void> {
  const { who } = c.var
  const decidedNow = {
    state,
    decidedAt: c.var.now(),
    decidedBy: who.personId,
    ...(more.undo ? { undo: more.undo } : {}),
  }
  const saved = await decideTrial(more.db ?? c.var.db, who.cellarId, trial.id, held, decidedNow)
  if (!saved.ok) throw saved.why === 'stale' ? stale(c, trialToWire(trial, await trialNames(c))) : unknown(trial.id)
}

/** Answers that would change must go together, or be signed for, as when they are changed by hand. */
async function signedFor(
  c: Context<AppEnv>,
  trial: StoredTrial,
  given: Parameters<typeof accept>[2],
): Promise<ReadonlyMap<string, Lot['signed']>> {
  const lots = await listLots(c.var.db, c.var.who.cellarId)
  const signed = new Map<string, Lot['signed']>()
  for (const change of trial.changes) {
    if (change.kind === 'choices') {
      const lot = lots.find((l) => l.id === change.lot)
      if (lot) signed.set(lot.id, await accept(c, changedLot(lot, change), given))
    }
    if (change.kind === 'more-fruit') {
      const like = lots.find((l) => l.id === change.like)
      // What was signed for the one holds for the other: it is the same fruit with the same answers.
      if (like) {
        const again = like.signed.map(({ conflict, reason }) => ({ conflict, reason }))
        const lot = moreLike(like, change, newId(c.var.now().epochMilliseconds))
        signed.set(change.code, await accept(c, lot, [...again, ...given]))
      }
    }
  }
  return signed
}

const unknown = (trialId: string) => problem(404, 'unknown-trial', `There is no trial ${trialId}`)

async function trialFor(c: Context<AppEnv>, trialId: string): Promise<StoredTrial> {
  const found = await findTrial(c.var.db, c.var.who.cellarId, trialId)
  if (!found) throw unknown(trialId)
  return found
}

function refuseDecided(trial: StoredTrial, wanted: StoredTrial['state']): void {
  if (trial.state === wanted) return
  throw problem(409, `trial-${trial.state}`, `This trial is ${trial.state}`, {
    detail: wanted === 'open' ? 'Make a new one to try it again.' : 'Only what was adopted can be taken back.',
  })
}

async function knownTo(c: Context<AppEnv>) {
  const { db, who } = c.var
  const { cellar, people } = await peopleNow(c)
  return {
    zone: cellar.zone,
    lots: await listLots(db, who.cellarId),
    people,
    machines: await listMachines(db, who.cellarId),
    vessels: await listVessels(db, who.cellarId),
    taskKeys: new Set((await listTasks(db, who.cellarId)).filter((t) => t.state !== 'cancelled').map((t) => t.key)),
    nowAt: c.var.now(),
  }
}

async function trialNames(c: Context<AppEnv>): Promise<TrialNames> {
  const { db, who } = c.var
  const cellar = await findCellar(db, who.cellarId)
  const names = new Map<string, string>([
    ...(await listLots(db, who.cellarId)).map((l) => [l.id, `${l.code} ${l.name}`] as const),
    ...(await listPeople(db, who.cellarId)).map((p) => [p.id, p.name] as const),
    ...(await listMachines(db, who.cellarId)).map((m) => [m.id, m.name] as const),
    ...(await listVessels(db, who.cellarId)).map((v) => [v.id, v.code] as const),
  ])
  const tasks = new Map((await listTasks(db, who.cellarId)).map((t) => [t.key, `${t.lotCode} ${t.name.toLowerCase()}`]))
  return {
    zone: cellar?.zone ?? 'UTC',
    nameOf: (name) => names.get(name) ?? name,
    taskOf: (key) => tasks.get(key) ?? key,
  }
}

async function trialNow(c: Context<AppEnv>, trialId: string): Promise<TrialWire> {
  return trialToWire(await trialFor(c, trialId), await trialNames(c))
}

function trialToWire(t: StoredTrial, names: TrialNames): TrialWire {
  return {
    id: t.id,
    name: t.name,
    // Stored as it came in, checked then.
    changes: t.changes as unknown as TrialWire['changes'],
    words: t.changes.map((change) => changeWords(change, names)),
    state: t.state,
    createdAt: t.createdAt.toString(),
    createdBy: t.createdBy,
    ...(t.decidedAt ? { decidedAt: t.decidedAt.toString() } : {}),
    ...(t.decidedBy ? { decidedBy: t.decidedBy } : {}),
    version: t.version,
  }
}
