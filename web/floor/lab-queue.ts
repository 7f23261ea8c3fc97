/** Which samples wait, the most urgent first. */
import type { TaskWire } from '../../api/wire.ts'
import { isOpen } from './walk.ts'

/** Stop points, dry checks, SO2 before bottling, malic, then the rest: the order the practice gives the lab. */
const URGENCY: Readonly<Record<string, number>> = {
  'watch-stop': 0,
  're-check-stop': 0,
  'check-dry': 1,
  'pre-bottling': 2,
  'check-so2': 2,
  'mlf-check': 3,
  'juice-panel': 4,
  'check-clarity': 4,
  'check-va': 4,
  'sample-block': 5,
  'trial-fining': 5,
  'test-stability': 5,
}

export const isSample = (task: Pick<TaskWire, 'step' | 'records'>): boolean =>
  task.step in URGENCY && task.records.length > 0

const DAY_MS = 86_400_000

/** Further away than this, nothing but the end of the plan is in the way: a date would only mislead. */
const SOON_DAYS = 14

/** The last moment a sample may be measured, where that is soon enough to be told. */
export const untilOf = (task: Pick<TaskWire, 'latestAt'>, nowMs: number): string | undefined =>
  Date.parse(task.latestAt) - nowMs < SOON_DAYS * DAY_MS ? task.latestAt : undefined

export function samplesWaiting(tasks: readonly TaskWire[], nowMs: number): readonly TaskWire[] {
  const day = (task: TaskWire) => Math.max(0, Math.floor((Date.parse(task.latestAt) - nowMs) / DAY_MS))
  return tasks
    .filter((task) => isSample(task) && isOpen(task))
    .sort(
      (a, b) =>
        // What is late or runs out today goes before a stop point of next week.
        Math.min(day(a), 1) - Math.min(day(b), 1) ||
        (URGENCY[a.step] ?? 9) - (URGENCY[b.step] ?? 9) ||
        a.latestAt.localeCompare(b.latestAt) ||
        a.key.localeCompare(b.key),
    )
}
