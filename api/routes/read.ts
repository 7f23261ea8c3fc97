/** What several routes read to answer: names, tasks with what was told of them. */
import { setImmediate } from 'node:timers/promises'
import { listLots } from '../../db/queries/lots.ts'
import { listTaskFacts, type StoredTaskFact } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { listMachines, listVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import type { VesselNames } from '../shapes/lot.ts'
import { standing, type TaskNames, taskJson, taskToWire } from '../shapes/task.ts'
import type { Temporal } from '../time.ts'
import type { TaskWire } from '../wire.ts'

/**
 * Names and ticks for turning stored tasks into what travels.
 *
 * @param keys the tasks whose ticks are asked for; absent for all
 */
export async function taskNames(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  keys?: readonly string[],
): Promise<TaskNames> {
  const lots = await listLots(db, cellarId)
  const facts = await listTaskFacts(db, cellarId, keys)
  const factsByTask = new Map<string, StoredTaskFact[]>()
  for (const fact of standing(facts)) {
    const list = factsByTask.get(fact.taskKey)
    if (list) list.push(fact)
    else factsByTask.set(fact.taskKey, [fact])
  }
  const painted = [...(await listVessels(db, cellarId)), ...(await listMachines(db, cellarId))]
  const codes = new Map(painted.map((v) => [v.id, v.code]))
  const lotNames = new Map(lots.map((l) => [l.id, l.name]))
  return { lotNames, codes, painted: [...codes].join(' '), factsByTask, nowAt }
}

/** Of more tasks than a day has, all ticks are read: then most would be anyway. */
const MOST_BY_KEY = 1_000

export async function tasksToWire(
  db: Db,
  cellarId: string,
  tasks: readonly StoredTask[],
  nowAt: Temporal.Instant,
): Promise<TaskWire[]> {
  const names = await namesOf(db, cellarId, tasks, nowAt)
  return tasks.map((t) => taskToWire(t, names))
}

/** The same as a JSON array, for answers that are asked for many times a second. */
export async function tasksToJson(
  db: Db,
  cellarId: string,
  tasks: readonly StoredTask[],
  nowAt: Temporal.Instant,
  fields: 'all' | 'drawn',
): Promise<string> {
  const names = await namesOf(db, cellarId, tasks, nowAt)
  const pieces: string[] = []
  for (let from = 0; from < tasks.length; from += AT_ONCE) {
    // Others are answered in between: a season of a big cellar takes longer than they would wait.
    if (from > 0) await setImmediate()
    pieces.push(
      tasks
        .slice(from, from + AT_ONCE)
        .map((t) => taskJson(t, names, fields))
        .join(','),
    )
  }
  return `[${pieces.join(',')}]`
}

/** Some 4 ms of work. */
const AT_ONCE = 500

const namesOf = (db: Db, cellarId: string, tasks: readonly StoredTask[], nowAt: Temporal.Instant) =>
  taskNames(db, cellarId, nowAt, tasks.length <= MOST_BY_KEY ? tasks.map((t) => t.key) : undefined)

/** What is painted on the vessels, by id. */
export async function vesselNames(db: Db, cellarId: string): Promise<VesselNames> {
  return new Map((await listVessels(db, cellarId)).map((v) => [v.id, { code: v.code, kind: v.kind }]))
}
