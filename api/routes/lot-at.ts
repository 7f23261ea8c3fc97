/** One lot as the routes that change it need it. */

import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findLot, listLots } from '../../db/queries/lots.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listTransfers } from '../../db/queries/records.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { problem } from '../problem.ts'
import type { Lot } from '../protocol/facts.ts'
import { lotToWire } from '../shapes/lot.ts'
import { blockingOf, type Signature, signatures, trialOf } from '../trial.ts'
import { lotWire } from '../wire.ts'
import { anewShape, askedBy } from './anew.ts'
import { vesselNames } from './read.ts'
import type { AppEnv } from './route.ts'

export const lotAnew = z.object({ lot: lotWire, ...anewShape })

export const unknownLot = (lotId: string) => problem(404, 'unknown-lot', `There is no lot ${lotId}`)

export async function lotFor(c: Context<AppEnv>, lotId: string) {
  const { db, who } = c.var
  const lot =
    (await findLot(db, who.cellarId, lotId)) ?? (await listLots(db, who.cellarId)).find((l) => l.code === lotId)
  if (!lot) throw unknownLot(lotId)
  return lot
}

export async function lotNow(c: Context<AppEnv>, lotId: string) {
  const { db, who } = c.var
  return lotToWire(await lotFor(c, lotId), {
    vessels: await vesselNames(db, who.cellarId),
    plan: await findPlan(db, who.cellarId),
    phases: await listPhases(db, who.cellarId, { lotId }),
    tasks: await listTasks(db, who.cellarId, { lotId }),
    transfers: await listTransfers(db, who.cellarId, lotId),
    nowAt: c.var.now(),
  })
}

/** Signatures that count, or a problem that names each conflict still in the way. */
export async function accept(c: Context<AppEnv>, lot: Lot, given: readonly Signature[]): Promise<Lot['signed']> {
  const { db, who } = c.var
  const nowAt = c.var.now()
  const { conflicts } = await trialOf(db, who.cellarId, lot, nowAt, askedBy(c))
  const all = signatures(lot.signed, given, conflicts, { personId: who.personId, at: nowAt })
  const open = blockingOf(conflicts, all)
  if (open.length === 0) return all
  throw problem(422, 'conflicts', 'These answers do not go together', {
    detail: 'Change an answer of each, or sign a reason for each.',
    errors: open.flatMap((f) =>
      f.fields.map((field) => ({ pointer: `#/choices/${field}`, detail: `${f.reason} ${f.wayOut}` })),
    ),
    conflicts: open,
  })
}
