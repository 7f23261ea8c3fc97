/** The app on a real database, with a small cellar of its own and somebody of every role signed in. */
import { createApp } from '../../api/app.ts'
import { startSession } from '../../api/auth.ts'
import { type Changes, createChanges } from '../../api/changes.ts'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import type { Storage } from '../../api/ops/storage.ts'
import type { Planner } from '../../api/planning.ts'
import { type Facts, ROLES, type Role } from '../../api/protocol/facts.ts'
import { replan } from '../../api/replan.ts'
import { Temporal } from '../../api/time.ts'
import type { Db } from '../../db/types.ts'
import { freshId, sharedDb } from '../helpers/db.ts'

export interface Answer<T = Record<string, unknown>> {
  readonly status: number
  readonly body: T
  readonly text: string
  readonly headers: Headers
}

export type Call = <T = Record<string, unknown>>(
  method: string,
  path: string,
  body?: unknown,
  headers?: Readonly<Record<string, string>>,
) => Promise<Answer<T>>

export interface Made {
  readonly app: ReturnType<typeof createApp>
  readonly db: Db
  readonly cellarId: string
  readonly changes: Changes
  readonly as: (role: Role | null) => Call
  readonly cookieOf: (role: Role) => string
  /** Moves the app's clock. */
  readonly setNow: (at: string) => void
}

export const NOW = '2027-03-21T18:00:00Z'
export const ORIGIN = 'http://cellar.test'

/** Ostrel Yard with few vessels and the lots named: small, so that planning is quick. */
export function smallFacts(cellarId: string, lotCodes: readonly string[] = ['L01']): Facts {
  const facts = demoFacts()
  return {
    ...facts,
    cellar: { ...facts.cellar, id: cellarId },
    people: [
      ...ROLES.map((role) => ({
        ...facts.people[0]!,
        id: role,
        name: `${role} ${cellarId}`,
        role,
        skills: [...new Set(facts.people.flatMap((p) => p.skills))],
      })),
    ],
    vessels: facts.vessels.filter((v) => v.kind !== 'barrel'),
    lots: facts.lots.filter((l) => lotCodes.includes(l.code)),
    readings: [],
    taskFacts: [],
    additions: [],
    transfers: [],
  }
}

export async function makeApp(
  options: {
    readonly lots?: readonly string[]
    readonly db?: Db
    readonly now?: string
    readonly planAfterMs?: number
    readonly storage?: Storage
    readonly planner?: Planner
  } = {},
): Promise<Made> {
  const db = options.db ?? (await sharedDb())
  const cellarId = freshId('yard')
  let nowAt = Temporal.Instant.from(options.now ?? NOW)
  const changes = createChanges()
  const { planAfterMs, storage, planner } = options
  const app = createApp({
    db,
    now: () => nowAt,
    changes,
    baseUrl: ORIGIN,
    ...(planAfterMs ? { planAfterMs } : {}),
    ...(storage ? { storage } : {}),
    ...(planner ? { planner } : {}),
  })
  await db.transaction((tx) => storeFacts(tx, smallFacts(cellarId, options.lots), { demo: false, at: nowAt }))
  await replan(db, cellarId, nowAt)
  const cookies = new Map<Role, string>()
  for (const role of ROLES) {
    const person = { cellarId, id: role, name: `${role} ${cellarId}`, role, language: 'en' }
    cookies.set(role, `session=${(await startSession(db, person, 'test', nowAt)).secret}`)
  }
  return {
    app,
    db,
    cellarId,
    changes,
    as: (role) => caller(app, role === null ? undefined : cookies.get(role)),
    cookieOf: (role) => cookies.get(role)!,
    setNow: (at) => {
      nowAt = Temporal.Instant.from(at)
    },
  }
}

/** Calls the app as a browser page of its own would. Text goes as CSV, everything else as JSON. */
export function caller(app: ReturnType<typeof createApp>, cookie?: string): Call {
  return async <T>(method: string, path: string, body?: unknown, headers: Readonly<Record<string, string>> = {}) => {
    const isText = typeof body === 'string'
    const response = await app.request(`${ORIGIN}${path}`, {
      method,
      headers: {
        'sec-fetch-site': 'same-origin',
        ...(cookie ? { cookie } : {}),
        ...(body === undefined ? {} : { 'content-type': isText ? 'text/csv' : 'application/json' }),
        ...headers,
      },
      ...(body === undefined ? {} : { body: isText ? body : JSON.stringify(body) }),
    })
    const text = await response.text()
    const isJson = /json/.test(response.headers.get('content-type') ?? '')
    return { status: response.status, body: (isJson ? JSON.parse(text) : {}) as T, text, headers: response.headers }
  }
}

export interface ProblemBody {
  readonly type: string
  readonly title: string
  readonly status: number
  readonly detail?: string
  readonly errors?: readonly { readonly pointer: string; readonly detail: string }[]
  readonly current?: Record<string, unknown>
  readonly conflicts?: readonly { readonly id: string }[]
}

export const CHOICES = demoFacts().lots[0]!.choices
export const FRUIT = {
  tonnes: 3,
  brix: 21.5,
  pH: 3.2,
  acidGPerLTartaric: 7.5,
  malicGPerL: 3,
  yanMgPerL: 200,
  fruitTempC: 14,
  rotPct: 0,
  yieldLPerT: 680,
}
