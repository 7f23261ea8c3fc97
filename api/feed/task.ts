import { Temporal } from '../time.ts'
import type { TaskWire } from '../wire.ts'
import { doseLine } from './dose.ts'
import type { FeedTask } from './types.ts'
import { taskUid } from './uid.ts'

export interface FeedNames {
  /** Person id to name. */
  readonly people: ReadonlyMap<string, string>
  /** Step id to a short name in the reader's language. */
  readonly actions: ReadonlyMap<string, string>
  readonly units: 'metric' | 'us'
}

const at = (iso: string) => Temporal.Instant.from(iso)

const where = (task: TaskWire): string => {
  const from = task.fromVessels.join(' + ')
  const to = task.toVessels.join(' + ')
  if (from && to && from !== to) return `${from} > ${to}`
  return to || from
}

/** A stored task as the feed shows it. Order links only where the later task truly starts after this one ends. */
export function feedTaskOf(
  task: TaskWire,
  cellarId: string,
  starts: ReadonlyMap<string, string>,
  names: FeedNames,
): FeedTask {
  return {
    uid: taskUid(cellarId, task.key),
    sequence: task.revision,
    changedAt: at(task.changedAt),
    startAt: at(task.startAt),
    endAt: at(task.endAt),
    wholeDays: task.grain === 'day',
    state: task.state,
    forecast: task.forecast,
    family: task.family,
    step: task.step,
    action: names.actions.get(task.step) ?? task.name,
    lotCode: task.lotCode,
    lotName: task.lotName,
    where: where(task),
    people: task.people.map((id) => names.people.get(id) ?? id),
    detail: task.detail,
    doses: task.doses.map((d) => doseLine(d, names.units)),
    caution: task.caution,
    reason: task.cancelReason ?? task.skipReason ?? '',
    path: `/tasks/${task.key.split('/').map(encodeURIComponent).join('/')}`,
    next: task.next.flatMap((key) => {
      const start = starts.get(key)
      return start !== undefined && start >= task.endAt ? [{ uid: taskUid(cellarId, key), gapMin: 0 }] : []
    }),
  }
}
