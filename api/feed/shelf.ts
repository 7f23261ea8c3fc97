import { createHash } from 'node:crypto'
import { gzipSync } from 'node:zlib'

/** A built body, kept until the plan's revision, the feed's settings or the day change. */
export interface Shelved {
  /** What it was built from. */
  readonly state: string
  readonly body: string
  readonly gzipped: Buffer
  readonly etag: string
  readonly lastModifiedMs: number
}

/** Keeps the newest body of each feed, the least asked for leaves first. */
export interface Shelf {
  readonly find: (feedId: string, state: string) => Shelved | undefined
  readonly put: (feedId: string, state: string, body: string, lastModifiedMs: number) => Shelved
  readonly drop: (feedId: string) => void
}

/** 200 feeds of a usual size are some 200 MB of text at most; a cellar has fewer. */
const KEPT = 200

export function createShelf(kept = KEPT): Shelf {
  const shelved = new Map<string, Shelved>()
  return {
    find: (feedId, state) => {
      const found = shelved.get(feedId)
      if (found?.state !== state) return undefined
      shelved.delete(feedId)
      shelved.set(feedId, found)
      return found
    },
    put: (feedId, state, body, lastModifiedMs) => {
      // Weak, as the same feed travels plain and gzipped under one tag (RFC 9110 section 8.8.1).
      const etag = `W/"${createHash('sha256').update(body).digest('base64url').slice(0, 27)}"`
      const before = shelved.get(feedId)
      // Equal bytes keep their date: the plan's revision may rise for tasks that are not in this feed.
      const since = before?.etag === etag ? before.lastModifiedMs : lastModifiedMs
      const entry: Shelved = { state, body, gzipped: gzipSync(body), etag, lastModifiedMs: since }
      shelved.delete(feedId)
      shelved.set(feedId, entry)
      const oldest = shelved.keys().next().value
      if (shelved.size > kept && oldest !== undefined) shelved.delete(oldest)
      return entry
    },
    drop: (feedId) => void shelved.delete(feedId),
  }
}
