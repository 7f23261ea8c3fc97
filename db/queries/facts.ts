import type { Facts } from '../../api/protocol/facts.ts'
import type { Db } from '../types.ts'
import { findCellar } from './cellars.ts'
import { listLots } from './lots.ts'
import { listPeople } from './people.ts'
import { listAdditions, listReadings, listTaskFacts, listTransfers } from './records.ts'
import { listMachines, listVessels } from './vessels.ts'

/** Everything the plan is a function of. One after the other: inside a transaction there is one connection. */
export async function loadFacts(db: Db, cellarId: string): Promise<Facts | undefined> {
  const cellar = await findCellar(db, cellarId)
  if (!cellar) return undefined
  return {
    cellar,
    people: await listPeople(db, cellarId),
    vessels: await listVessels(db, cellarId),
    machines: await listMachines(db, cellarId),
    lots: await listLots(db, cellarId),
    readings: await listReadings(db, cellarId),
    taskFacts: await listTaskFacts(db, cellarId),
    additions: await listAdditions(db, cellarId),
    transfers: await listTransfers(db, cellarId),
  }
}
