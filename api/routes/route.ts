/** How a route is written once: its description is the check, the type and the OpenAPI entry; its roles come from the access table. */
import { createRoute, OpenAPIHono, type RouteConfig } from '@hono/zod-openapi'
import type { Context, TypedResponse } from 'hono'
import type { Db } from '../../db/types.ts'
import { rolesOf, ruleOf } from '../access.ts'
import type { SignInLimits } from '../attempts.ts'
import type { SignedIn } from '../auth.ts'
import type { Changes } from '../changes.ts'
import type { Log } from '../log.ts'
import type { Storage } from '../ops/storage.ts'
import type { Planner } from '../planning.ts'
import { parseHook } from '../problem.ts'
import type { Temporal } from '../time.ts'
import { problemWire } from '../wire.ts'

/** What every route may read from its context. */
export interface Vars {
  readonly db: Db
  readonly now: () => Temporal.Instant
  readonly changes: Changes
  readonly planner: Planner
  readonly log: Log
  readonly requestId: string
  /** Who is signed in; the access check has passed. */
  readonly who: SignedIn
  readonly address: string
  readonly demo: boolean
  /** How long a plan waits for more to come from phones, ms. */
  readonly planAfterMs: number
  /** Absolute address of this server, without a slash at the end. */
  readonly baseUrl: string
  readonly secure: boolean
  readonly storage: Storage
  readonly tries: SignInLimits
  /** A shared phone that was laid down asks. */
  readonly locked: boolean
  /** Secrets of cookies that this very answer sets. */
  readonly second: string
  readonly device: string
}

export type AppEnv = { Variables: Vars }

/** What a step of a route needs of its request; inside a transaction `db` is that transaction. */
export interface Scene {
  readonly var: Pick<Vars, 'db' | 'who' | 'now'>
}

export const routes = () => new OpenAPIHono<AppEnv>({ defaultHook: parseHook })

const problemAnswer = {
  description: 'A problem document (RFC 9457): `type` to branch on, `title` to read, `errors` for fields',
  content: { 'application/problem+json': { schema: problemWire } },
} as const

/** A type, not an interface: only types fit an index signature. */
type Noes = {
  readonly '4XX': typeof problemAnswer
  readonly '5XX': typeof problemAnswer
}

type Plain = Omit<RouteConfig, 'path'>

/** Adds to a route what all have: roles, sign-in, the answers that say no. A route without a rule cannot be written. */
export function describe<P extends string, R extends Plain & { readonly path: P }>(
  config: R,
): R & { readonly responses: R['responses'] & Noes } {
  const rule = ruleOf(config.method, config.path)
  if (rule === undefined)
    throw new Error(`${config.method.toUpperCase()} ${config.path} has no rule in the access table`)
  return createRoute({
    ...config,
    security: rule === 'public' ? [] : [{ session: [] }],
    'x-roles': rule === 'public' ? ['public'] : rolesOf(rule),
    responses: { ...config.responses, '4XX': problemAnswer, '5XX': problemAnswer },
  }) as R & { readonly responses: R['responses'] & Noes }
}

/** A JSON answer. */
export const answers = <S>(schema: S, description: string) =>
  ({ description, content: { 'application/json': { schema } } }) as const

/** The same where the text is made already. */
export const answerText = <T>(c: Context, text: string): TypedResponse<T, 200, 'json'> =>
  c.body(text, 200, { 'content-type': 'application/json' }) as unknown as TypedResponse<T, 200, 'json'>

/** A JSON body; always asked for. */
export const takes = <S>(schema: S) => ({ required: true, content: { 'application/json': { schema } } }) as const
