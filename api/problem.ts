/** The only way to say no over HTTP: a problem document (RFC 9457). Clients branch on `type`, people read `title`. */
import type { Context } from 'hono'
import { HTTPException } from 'hono/http-exception'
import type { ContentfulStatusCode } from 'hono/utils/http-status'
import type { z } from 'zod'
import { fromDatabase } from './constraints.ts'
import { expected } from './expected.ts'

export interface FieldError {
  /** JSON pointer into the body (`#/fruit/brix`), or `#query/from`, `#param/id`, `#header/if-match`. */
  readonly pointer: string
  readonly detail: string
}

export interface Problem {
  readonly type: string
  readonly title: string
  readonly status: ContentfulStatusCode
  readonly detail?: string
  readonly errors?: readonly FieldError[]
  /** The row as it is now, where the caller held an older one. */
  readonly current?: unknown
  readonly conflicts?: readonly unknown[]
  readonly retryAfterS?: number
  readonly allow?: readonly string[]
}

export type ProblemMore = Omit<Problem, 'type' | 'title' | 'status'>

/** To be thrown: an open transaction rolls back, and `answerProblem` writes it out. */
export function problem(
  status: ContentfulStatusCode,
  type: string,
  title: string,
  more: ProblemMore = {},
): HTTPException {
  return thrown({ type, title, status, ...more })
}

export const thrown = (body: Problem): HTTPException =>
  new HTTPException(body.status, { message: body.title, cause: body })

/** One field that does not fit. */
export const fieldProblem = (pointer: string, detail: string): HTTPException =>
  problem(422, 'not-valid', 'Something in the request does not fit', { errors: [{ pointer, detail }] })

/** Every no and every bug as a document; nothing of the inside leaks out. */
export function answerProblem(error: unknown, c: Context): Response {
  const body = problemOf(error)
  const headers: Record<string, string> = { 'content-type': 'application/problem+json', 'cache-control': 'no-store' }
  if (body.retryAfterS !== undefined) headers['retry-after'] = String(body.retryAfterS)
  if (body.allow) headers.allow = body.allow.join(', ')
  const { retryAfterS: _, allow: __, ...shown } = body
  return c.body(JSON.stringify({ ...shown, instance: `urn:request:${c.get('requestId') ?? ''}` }), body.status, headers)
}

/** What a thrown thing means to a caller. */
export function problemOf(error: unknown): Problem {
  if (error instanceof HTTPException) {
    return isProblem(error.cause) ? error.cause : fromStatus(error.status, error.message)
  }
  return (
    fromDatabase(error) ?? {
      type: 'broken',
      title: 'Something broke here. What you sent was not stored; try again, and tell us the request number',
      status: 500,
    }
  )
}

/** Answers a schema that was not met with each field and what was expected there. */
export function parseHook(
  result: { readonly target: string; readonly success: boolean; readonly error?: z.ZodError },
  _c: Context,
): undefined {
  if (result.success || !result.error) return
  const inBody = result.target === 'json' || result.target === 'form'
  const root = inBody ? '#' : `#${result.target}`
  throw problem(inBody ? 422 : 400, 'not-valid', 'Something in the request does not fit', {
    errors: fieldErrors(result.error, root),
  })
}

export function fieldErrors(error: z.ZodError, root = '#'): FieldError[] {
  return error.issues.flatMap((issue) => {
    const at = [root, ...issue.path.map((p) => String(p).replaceAll('~', '~0').replaceAll('/', '~1'))].join('/')
    if (issue.code === 'unrecognized_keys') {
      return issue.keys.map((key) => ({ pointer: `${at}/${key}`, detail: 'is not known here' }))
    }
    return [{ pointer: at, detail: expected(issue) }]
  })
}

/** The same id for something else is a bug of the caller. */
export const operationUsed = (by: string): HTTPException =>
  problem(422, 'operation-used', 'This operation id stands for something else', {
    errors: [{ pointer: '#/opId', detail: `is used for ${by}` }],
  })

const TITLES: Readonly<Partial<Record<number, readonly [type: string, title: string]>>> = {
  400: ['not-readable', 'The request cannot be read'],
  401: ['signed-out', 'Sign in first'],
  403: ['not-allowed', 'You may not do this'],
  404: ['not-found', 'There is nothing here'],
  405: ['method-not-allowed', 'This cannot be done here'],
  413: ['too-large', 'The request is too large'],
  415: ['wrong-media-type', 'Send application/json, or text/csv to an import'],
  429: ['too-many', 'Too many tries. Wait a little'],
}

function fromStatus(status: ContentfulStatusCode, message: string): Problem {
  const [type, title] = TITLES[status] ?? ['refused', 'This was refused']
  return { type, title, status, ...(message && status < 500 ? { detail: message } : {}) }
}

const isProblem = (cause: unknown): cause is Problem =>
  typeof cause === 'object' && cause !== null && 'type' in cause && 'title' in cause && 'status' in cause
