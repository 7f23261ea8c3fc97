import { existsSync, renameSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { syncFile, syncTree } from './durable-fs.ts'

/** Written last, when the new folder is whole and on the disk. */
const WHOLE = 'leesway-whole'

/**
 * Making the database takes seconds and a thousand files. A start that was cut off meanwhile leaves half of them, and
 * nobody had been told that anything was stored: such a folder is moved aside, not removed, and made again.
 *
 * @returns whether the folder is to be made
 */
export function prepareFolder(pgData: string): boolean {
  if (existsSync(join(pgData, WHOLE))) return false
  if (existsSync(pgData)) {
    let n = 1
    while (existsSync(`${pgData}.unfinished-${n}`)) n++
    renameSync(pgData, `${pgData}.unfinished-${n}`)
  }
  return true
}

/** Its files were written before Postgres could sync any of them, so all are forced to the disk once. */
export function finishFolder(pgData: string): void {
  syncTree(pgData)
  writeFileSync(join(pgData, WHOLE), 'This database folder was made completely. Keep this file.\n')
  syncFile(join(pgData, WHOLE))
  syncFile(pgData)
  syncFile(dirname(pgData))
}
