import { randomBytes } from 'node:crypto'

let lastMs = 0
let count = 0

/**
 * A UUID that sorts by when it was made, also within a millisecond (version 7, RFC 9562 section 5.7, the counter of
 * section 6.2 method 1). Entries of the same moment are told apart by it. No secret: those are in secrets.ts.
 */
export function newId(nowMs: number): string {
  count = nowMs === lastMs ? count + 1 : 0
  lastMs = nowMs
  const random = randomBytes(8)
  const hex = [
    nowMs.toString(16).padStart(12, '0').slice(-12),
    (0x7000 | ((count >> 14) & 0xfff)).toString(16),
    (0x8000 | (count & 0x3fff)).toString(16),
    random.toString('hex').slice(0, 12),
  ].join('')
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}
