/** Another plan to hold this one against: the real one under a trial, or the one that stood when somebody asked. */
import { type Model, msOfWire, type SeasonPlan } from './model.ts'

export interface Kept {
  /** Where each phase stood. */
  readonly phases: ReadonlyMap<string, readonly [fromMs: number, toMs: number]>
  /** Where each task started. */
  readonly starts: ReadonlyMap<string, number>
}

export const keptOf = (model: Model): Kept => ({
  phases: new Map(model.phases.map((p) => [p.key, [p.startMs, p.endMs] as const])),
  starts: new Map(model.plan.tasks.map((task, ix) => [task.key, model.startMs[ix] as number])),
})

export const keptOfPlan = (plan: Pick<SeasonPlan, 'tasks' | 'phases'>): Kept => ({
  phases: new Map(plan.phases.map((p) => [p.key, [msOfWire(p.startAt), msOfWire(p.endAt)] as const])),
  starts: new Map(plan.tasks.filter((t) => t.state !== 'cancelled').map((task) => [task.key, msOfWire(task.startAt)])),
})
