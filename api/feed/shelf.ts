import { createHash } from 'node:crypto'
import { gzipSync } from 'node:zlib'

/** A built body, kept until the plan's revision, the feed's settings or the day change. */
export interface Shelved {
  /** What it was built from. */
  readonly state: string
  /** A tenth of the text or less. */
  readonly gzipped: Buffer
  readonly etag: string
  readonly lastModifiedMs: number
}

/** Keeps the newest body of each feed, gzipped; above `mostBytes` the least asked for leaves first. */
export interface Shelf {
  readonly find: (feedId: string, state: string) => Shelved | undefined
  readonly put: (feedId: string, state: string, body: string, lastModifiedMs: number) => Shelved
}

/** Some 60 feeds of a whole cellar with 20,000 tasks, or thousands of a person's. Chosen by us. */
const MOST_BYTES = 64 * 1024 ** 2

export function createShelf(mostBytes = MOST_BYTES): Shelf {
  const shelved = new Map<string, Shelved>()
  let bytes = 0
  const drop = (feedId: string) => {
    bytes -= shelved.get(feedId)?.gzipped.byteLength ?? 0
    shelved.delete(feedId)
  }
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
      const entry: Shelved = { state, gzipped: gzipSync(body), etag, lastModifiedMs: since }
      drop(feedId)
      shelved.set(feedId, entry)
      bytes += entry.gzipped.byteLength
      for (const oldest of shelved.keys()) {
        if (bytes <= mostBytes || oldest === feedId) break
        drop(oldest)
      }
      return entry
    },
  }
}
