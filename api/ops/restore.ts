import { existsSync, renameSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { BadBackup, type Head } from '../../db/backup/format.ts'
import { loadBackup, readBackup } from '../../db/backup/load.ts'
import { appliedTags, knownTags } from '../../db/migrate.ts'
import { type Opened, openDb } from '../../db/open.ts'

export type Target = { readonly url: string } | { readonly dataDir: string }

export interface Restored {
  readonly rows: Readonly<Record<string, number>>
  readonly madeAt: string
  /** Where the folder that was there before stands now. */
  readonly movedAside?: string
}

/** The place holds records already, and they are not to be lost. */
export class NotEmpty extends Error {
  override readonly name = 'NotEmpty'
}

/**
 * Fills an empty database from a backup, at the edition the backup was made with, and then brings it up to date.
 * Fails whole: a folder begun is removed, a server's transaction rolled back.
 *
 * @param after looks at the restored database before it is called done
 * @throws NotEmpty, BadBackup
 */
export async function restoreInto(
  target: Target,
  source: AsyncIterable<Uint8Array>,
  { aside = false, after = async () => {} }: { aside?: boolean; after?: (opened: Opened) => Promise<void> } = {},
): Promise<Restored> {
  const backup = await readBackup(source)
  const migrations = editionOf(backup.head)
  const movedAside = 'dataDir' in target ? makeRoom(target.dataDir, aside) : undefined
  try {
    const old = await openDb({ ...target, migrations })
    let rows: Readonly<Record<string, number>>
    try {
      rows = await old.raw('write', async (raw) => {
        const stands = await appliedTags(raw)
        const [found] = await raw.ask<{ n: number }>('select count(*)::int as n from cellar')
        if ((found?.n ?? 0) > 0 || stands.length !== migrations) {
          throw new NotEmpty('The database is not empty. Name an empty one: nothing is written over.')
        }
        return loadBackup(raw, backup)
      })
    } finally {
      await old.close()
    }
    const now = await openDb(target)
    try {
      await after(now)
    } finally {
      await now.close()
    }
    return { rows, madeAt: backup.head.madeAt, ...(movedAside === undefined ? {} : { movedAside }) }
  } catch (error) {
    if ('dataDir' in target) rmSync(join(target.dataDir, 'pg'), { recursive: true, force: true })
    if (movedAside !== undefined && 'dataDir' in target) renameSync(movedAside, join(target.dataDir, 'pg'))
    throw error
  }
}

/** How many of our migrations the backup stands at. @throws BadBackup for one that knows more than we do */
function editionOf(head: Head): number {
  const known = knownTags()
  if (head.migrations.length > known.length || head.migrations.some((tag, i) => known[i] !== tag)) {
    throw new BadBackup('This backup was made by another or newer edition of Leesway. Update first.')
  }
  return head.migrations.length
}

function makeRoom(dataDir: string, aside: boolean): string | undefined {
  const folder = join(dataDir, 'pg')
  if (!existsSync(folder)) return undefined
  if (!aside) {
    throw new NotEmpty(
      `The folder ${dataDir} holds a cellar. Add --aside to keep it beside the restored one, or name another DATA_DIR.`,
    )
  }
  let n = 1
  while (existsSync(`${folder}.before-restore-${n}`)) n++
  renameSync(folder, `${folder}.before-restore-${n}`)
  return `${folder}.before-restore-${n}`
}
