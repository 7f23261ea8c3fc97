/** What operations are judged against, read once for a whole batch: fifty come at once when a phone finds a signal. */
import { findCellar } from '../../db/queries/cellars.ts'
import { findLot, listLots } from '../../db/queries/lots.ts'
import { listPeople } from '../../db/queries/people.ts'
import { listReadings } from '../../db/queries/records.ts'
import type { StoredTask } from '../../db/queries/tasks.ts'
import { listVessels } from '../../db/queries/vessels.ts'
import type { Ground } from '../acts.ts'
import { plannedOf } from '../routes/acts.ts'
import type { Scene } from '../routes/route.ts'

/** A scene that remembers what does not change while a batch is taken: the cellar, its people, vessels and lots. */
export interface BatchScene extends Scene {
  readonly known: Map<string, Promise<unknown>>
}

export const startBatch = (c: Scene): BatchScene => ({ var: c.var, known: new Map() })

function once<T>(c: BatchScene, name: string, read: () => Promise<T>): Promise<T> {
  const known = c.known.get(name) as Promise<T> | undefined
  if (known) return known
  const made = read()
  c.known.set(name, made)
  // What could not be read is asked for again.
  made.catch(() => c.known.delete(name))
  return made
}

const here = (c: Scene) => [c.var.db, c.var.who.cellarId] as const

export const lotsOf = (c: BatchScene) => once(c, 'lots', () => listLots(...here(c)))
export const vesselsOf = (c: BatchScene) => once(c, 'vessels', () => listVessels(...here(c)))
export const peopleOf = (c: BatchScene) => once(c, 'people', () => listPeople(...here(c)))
export const zoneOf = (c: BatchScene) => once(c, 'zone', async () => (await findCellar(...here(c)))?.zone ?? 'UTC')

/** @param measures readings are told too: those of the lot say which are hard to believe */
export async function groundOf(c: BatchScene, task: StoredTask, measures: boolean): Promise<Ground> {
  const { lotId } = task
  return {
    taskKey: task.key,
    lot: lotId === null ? undefined : await once(c, `lot ${lotId}`, () => findLot(...here(c), lotId)),
    people: await peopleOf(c),
    vessels: await vesselsOf(c),
    zone: await zoneOf(c),
    nowAt: c.var.now(),
    personId: c.var.who.personId,
    planned: plannedOf(task),
    ...(lotId === null || !measures ? {} : { earlier: await listReadings(...here(c), lotId) }),
  }
}
