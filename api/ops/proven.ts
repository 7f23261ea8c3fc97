import type { Opened } from '../../db/open.ts'
import { listCellars } from '../../db/queries/cellars.ts'

/** What must hold of a database that was restored or moved, before it is called done. */
export async function proven(opened: Opened): Promise<void> {
  if ((await listCellars(opened.db)).length === 0) throw new Error('The backup holds no cellar.')
}
