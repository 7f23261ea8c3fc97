/** After facts were stored: plan anew, tell the screens, say what changed. */

import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findPlanRevision } from '../../db/queries/plans.ts'
import { findTasks } from '../../db/queries/tasks.ts'
import { shownError } from '../log.ts'
import type { Because } from '../protocol/moved.ts'
import { type By, replan } from '../replan.ts'
import { type TaskWire, taskWire } from '../wire.ts'
import { tasksToWire } from './read.ts'
import type { AppEnv } from './route.ts'

/** What every change of facts answers beside its own row. */
export const anewShape = {
  changed: z.array(taskWire).openapi({ description: 'Tasks that are new, moved, cancelled or otherwise changed' }),
  revision: z.number().int(),
  /** Said when the facts are stored but the plan could not be made anew. */
  notice: z.string().optional(),
}

export interface Anew {
  readonly changed: TaskWire[]
  readonly revision: number
  readonly notice?: string
}

/** Who plans for a request: whoever asked may close it, and then nobody waits. */
export const askedBy = (c: Context<AppEnv>): By => ({ planner: c.var.planner, signal: c.req.raw.signal })

/** The facts are committed by now: whatever the planner does, they stay, and the answer says so. */
export async function planAnew(
  c: Context<AppEnv>,
  cellarId: string = c.var.who.cellarId,
  because?: Because,
): Promise<Anew> {
  const { db, log, changes, planner, requestId } = c.var
  const nowAt = c.var.now()
  try {
    const done = await replan(db, cellarId, nowAt, because, planner)
    changes.publish(done.change)
    const tasks = await findTasks(db, cellarId, done.changed)
    return { changed: await tasksToWire(db, cellarId, tasks, nowAt), revision: done.revision }
  } catch (error) {
    log.error({ requestId, ...shownError(error) }, 'planning failed')
    const stored = await findPlanRevision(db, cellarId)
    return {
      changed: [],
      revision: stored?.revision ?? 0,
      notice: 'What you entered is stored, but the plan could not be made anew. The dates shown are the old ones.',
    }
  }
}

/** Nothing that moves a task has changed: the plan as it is. */
export async function asPlanned(c: Context<AppEnv>): Promise<Anew> {
  return { changed: [], revision: (await findPlanRevision(c.var.db, c.var.who.cellarId))?.revision ?? 0 }
}
