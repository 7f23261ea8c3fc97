import type { Cellar, Facts, Lot, Trouble } from '../../api/protocol/facts.ts'
import type { Db } from '../types.ts'
import { findCellar } from './cellars.ts'
import { listStock } from './contents.ts'
import { listTroubles } from './floor.ts'
import { listLots } from './lots.ts'
import { listPeople } from './people.ts'
import { listAdditions, listReadings, listTaskFacts, listTransfers } from './records.ts'
import { listMachines, listVessels } from './vessels.ts'

/**
 * Everything the plan is a function of: lots that ended in an earlier vintage have no part in it, so that planning
 * costs the same in every year.
 */
export async function loadFacts(db: Db, cellarId: string): Promise<Facts | undefined> {
  const cellar = await findCellar(db, cellarId)
  return cellar && load(db, cellar, (lot) => lot.endedAt === undefined || lot.vintage >= cellar.vintage)
}

/** The same with what the ledger says is in the vessels now: a plan goes on from true litres. */
export async function loadPlanFacts(db: Db, cellarId: string): Promise<Facts | undefined> {
  const facts = await loadFacts(db, cellarId)
  if (!facts) return undefined
  const stock = await listStock(db, cellarId)
  return { ...facts, stock: stock.map(({ volumeMl, ...s }) => ({ ...s, volumeL: volumeMl / 1000 })) }
}

/** Every fact of every year. */
export async function loadAllFacts(db: Db, cellarId: string): Promise<Facts | undefined> {
  const cellar = await findCellar(db, cellarId)
  return cellar && load(db, cellar, () => true)
}

/** One query after the other: inside a transaction there is one connection. */
async function load(db: Db, cellar: Cellar, wanted: (lot: Lot) => boolean): Promise<Facts> {
  const cellarId = cellar.id
  const all = await listLots(db, cellarId)
  const lots = all.filter(wanted)
  const ids = lots.length < all.length ? lots.map((l) => l.id) : undefined
  const left = new Set(all.filter((l) => !wanted(l)).map((l) => l.code))
  return {
    cellar,
    people: await listPeople(db, cellarId),
    vessels: await listVessels(db, cellarId),
    machines: await listMachines(db, cellarId),
    lots,
    readings: await listReadings(db, cellarId, ids),
    taskFacts: (await listTaskFacts(db, cellarId)).filter((f) => !left.has(f.taskKey.split('/', 1)[0]!)),
    additions: await listAdditions(db, cellarId, ids),
    transfers: await listTransfers(db, cellarId, ids),
    ...absentWhenEmpty(await listTroubles(db, cellarId)),
  }
}

/** A cellar without trouble has no such field, as in facts that were never stored. */
const absentWhenEmpty = (troubles: readonly Trouble[]): Pick<Facts, 'troubles'> =>
  troubles.length === 0 ? {} : { troubles }
