import { addCellar } from '../../db/queries/cellars.ts'
import { addLots } from '../../db/queries/lots.ts'
import { addPeople } from '../../db/queries/people.ts'
import { recordAdditions, recordReadings, recordTaskFacts } from '../../db/queries/records.ts'
import { addMachines, addVessels } from '../../db/queries/vessels.ts'
import type { Db } from '../../db/types.ts'
import { storeTransfers } from '../ledger/told.ts'
import type { Facts } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'

/** Stores a whole cellar that is not there yet. Call inside a transaction. */
export async function storeFacts(
  db: Db,
  facts: Facts,
  options: { readonly demo: boolean; readonly at: Temporal.Instant },
): Promise<void> {
  const { id } = facts.cellar
  await addCellar(db, facts.cellar, options)
  await addPeople(db, id, facts.people)
  const by = { personId: null, at: options.at }
  await addVessels(db, id, facts.vessels, by)
  await addMachines(db, id, facts.machines, by)
  await addLots(db, id, facts.lots, by)
  await storeRecords(db, id, facts, options.at)
}

/** What was measured, done, put in and moved. Call inside a transaction. */
export async function storeRecords(
  db: Db,
  cellarId: string,
  records: Pick<Facts, 'readings' | 'taskFacts' | 'additions' | 'transfers' | 'lots'>,
  at: Temporal.Instant,
): Promise<void> {
  await recordReadings(db, cellarId, records.readings, at)
  await recordTaskFacts(db, cellarId, records.taskFacts, at)
  await recordAdditions(db, cellarId, records.additions, at)
  await storeTransfers(db, cellarId, records.transfers, records.lots, at)
}
