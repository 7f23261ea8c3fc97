import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { withSnapshot } from '../../db/backup/snapshot.ts'
import { type Opened, openDb } from '../../db/open.ts'
import type { Temporal } from '../time.ts'
import { type Restored, restoreInto } from './restore.ts'

const MARK = 'moved-to-a-server.txt'

/** Two truths must not grow apart: a folder that was moved to a server is not opened again. */
export function refuseMoved(dataDir: string): void {
  if (!existsSync(join(dataDir, MARK))) return
  throw new Error(
    `The cellar in ${dataDir} was moved to a server database. Start with DATABASE_URL set. ` +
      `To go back to the folder as it was before the move, remove ${join(dataDir, MARK)}.`,
  )
}

/**
 * Copies everything from the embedded database into an empty server database, counts both, and marks the folder.
 * The folder itself is left as it was.
 *
 * @throws FolderInUse while a server runs on the folder; NotEmpty
 */
export async function moveTo(
  url: string,
  dataDir: string,
  nowAt: Temporal.Instant,
  after?: (opened: Opened) => Promise<void>,
): Promise<Restored> {
  if (!existsSync(join(dataDir, 'pg'))) throw new Error(`There is no cellar in ${dataDir}: nothing to move.`)
  refuseMoved(dataDir)
  const opened = await openDb({ dataDir })
  try {
    const restored = await withSnapshot(opened, nowAt.toString(), (source) =>
      restoreInto({ url }, source, after ? { after } : {}),
    )
    writeFileSync(join(dataDir, MARK), `Moved on ${nowAt.toString()}. The server database is the one that counts.\n`)
    return restored
  } finally {
    await opened.close()
  }
}
