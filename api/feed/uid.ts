import { createHash } from 'node:crypto'

/**
 * A task's UID: a UUID of version 8 (RFC 9562 section 5.8) made from cellar and task key.
 *
 * RFC 7986 section 5.3 wants a UID without host, user or other private data: a digest holds none that can be read
 * back, and the same task has the same UID in every feed for life, because its key never changes and is never reused.
 */
export function taskUid(cellarId: string, taskKey: string): string {
  const bytes = createHash('sha256').update(`${cellarId}\n${taskKey}`).digest().subarray(0, 16)
  bytes[6] = (bytes[6]! & 0x0f) | 0x80
  bytes[8] = (bytes[8]! & 0x3f) | 0x80
  const hex = bytes.toString('hex')
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}
