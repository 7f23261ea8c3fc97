import type { Context } from 'hono'
import { problem } from '../problem.ts'
import type { AppEnv } from './route.ts'

/**
 * A table that came as the body.
 *
 * @throws 415 for another media type; 422 for bytes that are no UTF-8, which would come out as strange signs in names
 */
export async function csvOf(c: Context<AppEnv>): Promise<string> {
  const type = c.req.header('content-type')?.split(';')[0]?.trim().toLowerCase()
  if (type !== 'text/csv') throw problem(415, 'wrong-media-type', 'Send the table as text/csv')
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(await c.req.arrayBuffer())
  } catch {
    throw problem(422, 'not-text', 'The file is not UTF-8 text', { detail: 'Save it as CSV UTF-8 and try again.' })
  }
}
