import type { Opened } from '../../db/open.ts'
import { listCellars } from '../../db/queries/cellars.ts'
import { checkRecord } from '../record/check.ts'

/**
 * What must hold of a database that was restored or moved, before it is called done: the record's chain is whole and
 * tells of the rows that are there.
 *
 * @throws Error in the words of the first fault
 */
export async function proven({ db }: Pick<Opened, 'db'>): Promise<void> {
  const cellars = await listCellars(db)
  if (cellars.length === 0) throw new Error('The backup holds no cellar.')
  for (const { id, name } of cellars) {
    const { faults } = await checkRecord(db, id)
    if (faults[0]) throw new Error(`The record of ${name} does not hold: ${faults[0].words}`)
  }
}
