import { readdir, rm, stat } from 'node:fs/promises'
import { join } from 'node:path'
import type { Foot, Head } from '../../db/backup/format.ts'
import { proveBackup } from '../../db/backup/load.ts'
import { withSnapshot } from '../../db/backup/snapshot.ts'
import type { Opened } from '../../db/open.ts'
import { Temporal } from '../time.ts'
import { openSealed, writeSealed } from './seal.ts'

export interface Made {
  readonly path: string
  readonly bytes: number
  readonly rows: Foot['rows']
}

/** Makes a backup and reads it back to its end: only then is it one. @throws BadBackup, and the errors of the disk */
export async function makeBackup(
  opened: Pick<Opened, 'raw' | 'kind'>,
  to: string,
  passphrase: string | undefined,
  nowAt: Temporal.Instant,
  workFactor?: number,
): Promise<Made> {
  await withSnapshot(opened, nowAt.toString(), (source) => writeSealed(to, source, passphrase, workFactor))
  const { foot } = await readBack(to, passphrase)
  return { path: to, bytes: (await stat(to)).size, rows: foot.rows }
}

export const readBack = async (path: string, passphrase: string | undefined): Promise<{ head: Head; foot: Foot }> =>
  proveBackup(await openSealed(path, passphrase))

const NAME = /^leesway-(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})Z\.backup(\.age)?$/

/** A name that sorts by time and says whether a passphrase is needed. */
export const backupName = (at: Temporal.Instant, sealed: boolean): string =>
  `leesway-${at.toString({ smallestUnit: 'second' }).replaceAll(/[-:]/g, '')}.backup${sealed ? '.age' : ''}`

export interface Kept {
  readonly path: string
  readonly at: Temporal.Instant
}

/** The backups of a folder, newest first. Other files are none of ours. */
export async function listBackups(folder: string): Promise<readonly Kept[]> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return []
    throw error
  })
  return names
    .flatMap((name) => {
      const at = momentOf(name)
      return at ? [{ path: join(folder, name), at }] : []
    })
    .sort((a, b) => Temporal.Instant.compare(b.at, a.at))
}

function momentOf(name: string): Temporal.Instant | undefined {
  const [, y, mo, d, h, mi, s] = NAME.exec(name) ?? []
  if (y === undefined) return undefined
  try {
    return Temporal.Instant.from(`${y}-${mo}-${d}T${h}:${mi}:${s}Z`)
  } catch {
    return undefined
  }
}

/** How many to keep of each: the newest of a day, a week, a month. Common practice. */
export const KEPT = { days: 7, weeks: 4, months: 12 } as const

/** Which backups have had their time: none that is the newest of a kept day, week or month. The newest always stays. */
export function outlived(backups: readonly Kept[], zone: string): readonly Kept[] {
  const newestFirst = [...backups].sort((a, b) => Temporal.Instant.compare(b.at, a.at))
  const kept = new Set<Kept>()
  const keepFirsts = (count: number, spanOf: (on: Temporal.PlainDate) => string) => {
    const seen = new Set<string>()
    for (const backup of newestFirst) {
      const span = spanOf(backup.at.toZonedDateTimeISO(zone).toPlainDate())
      if (seen.has(span) || seen.size >= count) continue
      seen.add(span)
      kept.add(backup)
    }
  }
  keepFirsts(KEPT.days, (on) => on.toString())
  keepFirsts(KEPT.weeks, (on) => `${on.yearOfWeek}-${on.weekOfYear}`)
  keepFirsts(KEPT.months, (on) => on.toPlainYearMonth().toString())
  return newestFirst.filter((backup) => !kept.has(backup))
}

export async function removeOutlived(folder: string, zone: string): Promise<readonly string[]> {
  const gone = outlived(await listBackups(folder), zone)
  for (const { path } of gone) await rm(path)
  return gone.map((b) => b.path)
}
