import { closeSync, fsyncSync, openSync, statfsSync, writeSync } from 'node:fs'
import { join } from 'node:path'

/** What keeps a database from being written to. */
export type Trouble = 'storage-full' | 'storage-read-only' | 'database-away'

/** So much is left free for what is under way: the log grows by files of 16 MiB. Chosen by us. */
const ROOM_BYTES = 64 * 2 ** 20

/** What the codes of the file system and of PostgreSQL (documentation, appendix A) mean for storing. */
const MEANS: readonly (readonly [Trouble, readonly string[]])[] = [
  // 53100 disk full
  ['storage-full', ['53100', 'ENOSPC', 'EDQUOT']],
  // 25006 read-only transaction: a standby, or set so; 58030 input/output error
  ['storage-read-only', ['25006', '58030', 'EROFS', 'EIO', 'EACCES', 'EPERM']],
  // 57P01-03 shut down, crashed, starting up; 53300 too many connections; and what the socket says
  ['database-away', ['57P01', '57P02', '57P03', '53300', 'ECONNREFUSED', 'ECONNRESET', 'EPIPE', 'ETIMEDOUT']],
  ['database-away', ['EHOSTUNREACH', 'ENOTFOUND', 'EAI_AGAIN', 'CONNECT_TIMEOUT']],
  ['database-away', ['CONNECTION_CLOSED', 'CONNECTION_ENDED', 'CONNECTION_DESTROYED']],
]

/** What a code of the database or of its disk means, if it is one of storing. Class 08: connection exception. */
export const troubleOfCode = (code: string | undefined): Trouble | undefined =>
  MEANS.find(([, codes]) => code !== undefined && codes.includes(code))?.[0] ??
  (code?.startsWith('08') ? 'database-away' : undefined)

/** The code of an error or of what caused it. */
export function codeOf(error: unknown): string | undefined {
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if ('code' in e && typeof e.code === 'string') return e.code
  }
  return undefined
}

const said = new WeakSet<Error>()

/** Marks an error as one that the database, its connection or its disk threw. */
export function ofDatabase<E>(error: E): E {
  if (error instanceof Error) said.add(error)
  return error
}

/**
 * What an error means, if it is one of storing. The system's codes come from anywhere, the socket of a caller who hangs
 * up in the middle too: they count where the database marked them. PostgreSQL's and its driver's are theirs alone.
 */
export function troubleOf(error: unknown): Trouble | undefined {
  const trouble = troubleOfCode(codeOf(error))
  return trouble && (isMarked(error) || !/^E[A-Z_]+$/.test(codeOf(error)!)) ? trouble : undefined
}

function isMarked(error: unknown): boolean {
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if (said.has(e)) return true
  }
  return false
}

/** Looks whether there is room in a folder, and whether a file there can be forced to the disk. */
export function lookAtDisk(folder: string): Trouble | undefined {
  try {
    const { bavail, bsize } = statfsSync(folder)
    if (bavail * bsize < ROOM_BYTES) return 'storage-full'
    const fd = openSync(join(folder, '.room'), 'w', 0o600)
    try {
      writeSync(fd, 'Written to see whether the disk takes it.\n')
      fsyncSync(fd)
    } finally {
      closeSync(fd)
    }
    return undefined
  } catch (error) {
    return troubleOfCode(codeOf(error)) === 'storage-full' ? 'storage-full' : 'storage-read-only'
  }
}
