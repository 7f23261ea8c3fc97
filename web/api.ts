/** Every call to the server. Each no is one kind of error, which carries the problem document. */
import type { ProblemWire } from '../api/wire.ts'

export interface Problem extends ProblemWire {
  /** The row as it is now, where ours was older. */
  readonly current?: unknown
  readonly conflicts?: readonly unknown[]
}

export interface Refusal extends Error {
  readonly problem: Problem
}

const refusal = (problem: Problem): Refusal => Object.assign(new Error(problem.title), { problem })

export const isRefusal = (error: unknown): error is Refusal =>
  error instanceof Error && 'problem' in error && typeof error.problem === 'object'

/** What to show of any error. */
export const problemOf = (error: unknown): Problem =>
  isRefusal(error)
    ? error.problem
    : { type: 'broken', title: 'Something broke on this page', status: 0, detail: String(error) }

type Method = 'GET' | 'POST' | 'PUT' | 'DELETE'

interface Sent {
  readonly json?: unknown
  readonly csv?: string
  /** Text of an .ics file. */
  readonly calendar?: string
  readonly signal?: AbortSignal
}

/**
 * One request. The type of the answer is the caller's word, from api/wire: both sides are built from it.
 * @throws Refusal
 */
export async function call<T>(method: Method, path: string, sent: Sent = {}): Promise<T> {
  const response = await fetch(path, {
    method,
    credentials: 'same-origin',
    headers: headersOf(sent),
    body: sent.csv ?? sent.calendar ?? (sent.json === undefined ? undefined : JSON.stringify(sent.json)),
    signal: sent.signal,
  }).catch((error: unknown) => {
    if (error instanceof DOMException && error.name === 'AbortError') throw error
    throw refusal(noConnection(method))
  })
  if (response.status === 204) return undefined as T
  // A page that a network puts in between answers 200 too, but not in JSON.
  if (response.ok && isJson(response)) return (await response.json()) as T
  throw refusal(await problemFrom(response))
}

const isJson = (response: Response) => /json/.test(response.headers.get('content-type') ?? '')

/** What the phone keeps of earlier answers. */
interface Answers {
  readonly remember: (path: string, body: unknown, readMs: number) => Promise<void>
  readonly answer: (path: string) => Promise<Read<unknown> | undefined>
}

/** An answer, and since when it may be out of date: when the server was asked for it, by this phone's clock. */
export interface Read<T> {
  readonly body: T
  readonly readMs: number
}

let answers: Promise<Answers | undefined> = Promise.resolve(undefined)

/** From here on, questions that the server cannot be asked are answered from what the phone keeps. */
export const keepAnswers = (kept: Promise<Answers | undefined>): void => {
  answers = kept
}

/** Long enough for a slow signal, short enough for somebody who stands before a tank. */
const PATIENCE_MS = 4_000

/**
 * A page that opens without a signal asks for a dozen things: until the server was heard once, what was not there for
 * the first is not asked for the others.
 */
const AWAY_MS = 2_000
let isHeard = false
let missedAtMs = Number.NEGATIVE_INFINITY
const isAway = () => !navigator.onLine || (!isHeard && performance.now() - missedAtMs < AWAY_MS)

/** The server was heard, by whatever way: from now on it is asked each time. */
export const heardServer = (): void => {
  isHeard = true
}

export const get = async <T>(path: string, signal?: AbortSignal): Promise<T> => (await getRead<T>(path, signal)).body

/** The same, with when it was read: long ago, where the phone answers. */
export async function getRead<T>(path: string, signal?: AbortSignal): Promise<Read<T>> {
  const askedMs = Date.now()
  const known = async () => (await answers)?.answer(path) as Promise<Read<T> | undefined>
  const remember = async (body: unknown) => (await answers)?.remember(path, body, askedMs)
  // No need to wait for a network that says itself, or has just shown, that it is not there.
  if (isAway()) {
    const kept = await known()
    if (kept) return kept
  }
  const asked = call<T>('GET', path, { signal })
  const slow = new Promise<undefined>((done) => setTimeout(done, PATIENCE_MS, undefined)).then(known)
  try {
    const first = await Promise.race([asked.then((body) => ({ body })), slow.then((kept) => ({ kept }))])
    if ('kept' in first && first.kept) {
      asked.then(remember).catch(() => {})
      return first.kept
    }
    const body = 'body' in first ? first.body : await asked
    heardServer()
    void remember(body).catch(() => {})
    return { body, readMs: askedMs }
  } catch (error) {
    if (!isRefusal(error) || !UNREACHED.has(error.problem.status) || !isNotOurs(error.problem)) throw error
    missedAtMs = performance.now()
    const kept = await known()
    if (!kept) throw error
    return kept
  }
}

const UNREACHED: ReadonlySet<number> = new Set([0, 200, 302, 307, 502, 503, 504, 511])
const isNotOurs = (problem: Problem) => problem.type === 'offline' || problem.type === 'not-ours'
export const post = <T>(path: string, json: unknown = {}) => call<T>('POST', path, { json })
export const put = <T>(path: string, json: unknown) => call<T>('PUT', path, { json })
export const remove = (path: string) => call<void>('DELETE', path)

/** `?a=1&b=2` of what is there; nothing where nothing is. */
export function query(params: Readonly<Record<string, string | undefined>>): string {
  const search = new URLSearchParams()
  for (const [name, value] of Object.entries(params)) if (value !== undefined && value !== '') search.set(name, value)
  const text = search.toString()
  return text ? `?${text}` : ''
}

/** A task's key is made of its lot, step and count; so is its address. */
export const taskPath = (key: string, act = ''): string => {
  const [lot = '', step = '', count = ''] = key.split('/').map(encodeURIComponent)
  return `/api/tasks/${lot}/${step}/${count}${act && `/${act}`}`
}

function headersOf(sent: Sent): Record<string, string> {
  const accept = { accept: 'application/json, application/problem+json' }
  if (sent.csv !== undefined) return { ...accept, 'content-type': 'text/csv' }
  if (sent.calendar !== undefined) return { ...accept, 'content-type': 'text/calendar' }
  return sent.json === undefined ? accept : { ...accept, 'content-type': 'application/json' }
}

const noConnection = (method: Method): Problem =>
  method === 'GET'
    ? { type: 'offline', title: 'No connection to the cellar', status: 0 }
    : {
        type: 'offline',
        title: 'No connection: this was not sent',
        detail: 'Nothing was stored. Try again when the connection is back.',
        status: 0,
      }

async function problemFrom(response: Response): Promise<Problem> {
  const body: unknown = await response.json().catch(() => null)
  if (typeof body === 'object' && body !== null && 'type' in body && 'title' in body) return body as Problem
  // A proxy or a captive page answered in the server's place.
  return {
    type: 'not-ours',
    title: `The answer (${response.status}) did not come from the cellar's server`,
    status: response.status,
  }
}
