import type { Facts } from '../../api/protocol/facts.ts'
import type { Db } from '../types.ts'
import { findCellar } from './cellars.ts'
import { listLots } from './lots.ts'
import { listPeople } from './people.ts'
import { listAdditions, listReadings, listTaskFacts, listTransfers } from './records.ts'
import { listMachines, listVessels } from './vessels.ts'

/**
 * Everything the plan is a function of: lots that ended in an earlier vintage have no part in it, so that planning
 * costs the same in every year. One query after the other: inside a transaction there is one connection.
 */
export async function loadFacts(db: Db, cellarId: string): Promise<Facts | undefined> {
  const cellar = await findCellar(db, cellarId)
  if (!cellar) return undefined
  const all = await listLots(db, cellarId)
  const lots = all.filter((l) => l.endedAt === undefined || l.vintage >= cellar.vintage)
  const ids = lots.length < all.length ? lots.map((l) => l.id) : undefined
  const gone = new Set(all.filter((l) => !lots.includes(l)).map((l) => l.code))
  return {
    cellar,
    people: await listPeople(db, cellarId),
    vessels: await listVessels(db, cellarId),
    machines: await listMachines(db, cellarId),
    lots,
    readings: await listReadings(db, cellarId, ids),
    taskFacts: (await listTaskFacts(db, cellarId)).filter((f) => !gone.has(f.taskKey.split('/', 1)[0]!)),
    additions: await listAdditions(db, cellarId, ids),
    transfers: await listTransfers(db, cellarId, ids),
  }
}
