/** Optimistic changes: the caller says which version it holds, in If-Match or in the body. */
import type { Context } from 'hono'
import { problem } from './problem.ts'

/** @throws 428 where neither says it, 400 where the header is no version */
export function heldVersionOf(c: Context, inBody: number | undefined): number {
  const header = c.req.header('if-match')
  if (header !== undefined) {
    const version = Number(/^(?:W\/)?"(\d{1,7})"$/.exec(header.trim())?.[1] ?? Number.NaN)
    if (Number.isInteger(version)) return version
    throw problem(400, 'not-valid', 'Something in the request does not fit', {
      errors: [{ pointer: '#header/if-match', detail: 'must be the version in quotes, such as "3"' }],
    })
  }
  if (inBody !== undefined) return inBody
  throw problem(428, 'version-needed', 'Say which version you are changing', {
    detail: 'Send `version` in the body, or the header If-Match with the version in quotes.',
  })
}

/** Somebody else was faster: the answer holds the row as it is now. */
export const stale = (c: Context, current: unknown) =>
  problem(c.req.header('if-match') === undefined ? 409 : 412, 'stale', 'Somebody changed this in the meantime', {
    detail: 'Look at what it is now, and make your change again.',
    current,
  })
