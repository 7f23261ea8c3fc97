import { closeSync, fsyncSync, openSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import { NodeFS } from '@electric-sql/pglite/nodefs'

interface OpenFile {
  nfd?: number
  node: unknown
}

interface EmscriptenModule {
  NODEFS: {
    realPath(node: unknown): string
    stream_ops: {
      open: (file: OpenFile) => void
      close: (file: OpenFile) => void
      write: (file: OpenFile, ...what: unknown[]) => number
      fsync?: (file: OpenFile) => number
    }
  }
}

/** Numbers of the file system's noes inside the engine (WASI, preview 1, `errno`). */
const NOES: Readonly<Record<number, string>> = { 19: 'EDQUOT', 29: 'EIO', 51: 'ENOSPC', 69: 'EROFS' }

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
  /** Why the last write failed, if one did. */
  failure: string | undefined
  private readonly files = new Set<number>()

  /** Closes what an engine that is no more left open. */
  letGo(): void {
    for (const fd of this.files) {
      try {
        closeSync(fd)
      } catch {
        // A failing disk may say no here too: the number is given back all the same.
      }
    }
    this.files.clear()
  }

  override async init(...args: Parameters<NodeFS['init']>): ReturnType<NodeFS['init']> {
    const started = await super.init(...args)
    const options = started.emscriptenOpts as { preRun?: ((module: EmscriptenModule) => void)[] }
    const hook = ({ NODEFS }: EmscriptenModule) => {
      this.watch(NODEFS.stream_ops)
      NODEFS.stream_ops.fsync = (file) => {
        const path = NODEFS.realPath(file.node)
        const fd = file.nfd ?? openSync(path, 'r')
        try {
          fsyncSync(fd)
          this.syncs++
          this.onSync?.(path)
        } catch (error) {
          this.failure = (error as NodeJS.ErrnoException).code
          throw error
        } finally {
          if (file.nfd === undefined) closeSync(fd)
        }
        return 0
      }
    }
    options.preRun = [...(options.preRun ?? []), hook]
    return started
  }

  private watch(ops: EmscriptenModule['NODEFS']['stream_ops']): void {
    const { open, close, write } = ops
    ops.open = (file) => {
      open(file)
      if (file.nfd !== undefined) this.files.add(file.nfd)
    }
    ops.close = (file) => {
      close(file)
      if (file.nfd !== undefined) this.files.delete(file.nfd)
    }
    ops.write = (file, ...what) => {
      try {
        return write(file, ...what)
      } catch (error) {
        this.failure = NOES[(error as { errno?: number }).errno ?? 0] ?? this.failure
        throw error
      }
    }
  }
}

/** fdatasync is a stub in this build and would do nothing, so the log is synced by fsync. */
export const DURABLE_START: string[] = [
  ...PGlite.defaultStartParams.filter((p) => p !== '-F'),
  '-c',
  'fsync=on',
  '-c',
  'wal_sync_method=fsync',
  // Questions kept planned are look-ups by keys whatever their parameters: planning them anew each time is what is saved.
  '-c',
  'plan_cache_mode=force_generic_plan',
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
