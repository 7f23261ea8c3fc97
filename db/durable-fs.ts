import { closeSync, fsyncSync, openSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import { NodeFS } from '@electric-sql/pglite/nodefs'

interface OpenFile {
  nfd?: number
  node: unknown
}

interface EmscriptenModule {
  NODEFS: { realPath(node: unknown): string; stream_ops: { fsync?: (file: OpenFile) => number } }
}

/**
 * A folder on disk where a commit is on the disk when it is acknowledged.
 *
 * The embedded database ships without any fsync: its file system has none and it starts Postgres with `-F`. A killed
 * process loses nothing by that, a power cut may lose or break everything since the last write-back.
 */
export class DurableFs extends NodeFS {
  /** Real fsyncs so far; a test holds that a commit raises it, so that an upgrade cannot drop this unseen. */
  syncs = 0
  /** Told which file was forced to the disk; for tests that cut the power. */
  onSync?: (path: string) => void

  override async init(...args: Parameters<NodeFS['init']>): ReturnType<NodeFS['init']> {
    const started = await super.init(...args)
    const options = started.emscriptenOpts as { preRun?: ((module: EmscriptenModule) => void)[] }
    const hook = ({ NODEFS }: EmscriptenModule) => {
      NODEFS.stream_ops.fsync = (file) => {
        const path = NODEFS.realPath(file.node)
        const fd = file.nfd ?? openSync(path, 'r')
        try {
          fsyncSync(fd)
          this.syncs++
          this.onSync?.(path)
        } finally {
          if (file.nfd === undefined) closeSync(fd)
        }
        return 0
      }
    }
    options.preRun = [...(options.preRun ?? []), hook]
    return started
  }
}

/** fdatasync is a stub in this build and would do nothing, so the log is synced by fsync. */
export const DURABLE_START: string[] = [
  ...PGlite.defaultStartParams.filter((p) => p !== '-F'),
  '-c',
  'fsync=on',
  '-c',
  'wal_sync_method=fsync',
]

/** Forces a folder and all in it to the disk. */
export function syncTree(dir: string): void {
  for (const entry of readdirSync(dir, { withFileTypes: true })) {
    const path = join(dir, entry.name)
    if (entry.isDirectory()) syncTree(path)
    else if (entry.isFile()) syncFile(path)
  }
  syncFile(dir)
}

export function syncFile(path: string): void {
  const fd = openSync(path, 'r')
  try {
    fsyncSync(fd)
  } finally {
    closeSync(fd)
  }
}
