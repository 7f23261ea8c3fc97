/** One round to the server: what waits goes out in order, and each answer is kept before the next round. */
import { type Answer, answered, type Row } from './operation.ts'
import type { Store } from './shelf.ts'

export interface Author {
  readonly personId: string
  readonly cellarId: string
}

export interface Way {
  readonly store: Store
  readonly fetch: (path: string, init: RequestInit) => Promise<Response>
  readonly nowMs: () => number
  readonly deviceId: string
  readonly author: Author
  /** Tells which are under way, for the screens. */
  readonly under?: (opIds: readonly string[]) => void
}

/**
 * empty: nothing waits any more; later: try again after a while, at the earliest after the time the server asked for;
 * signed-out: nobody is signed in; not-ours: a page in between answered; waiting: the server asked to keep some.
 */
export type Sent =
  | { readonly end: 'empty' | 'signed-out' | 'not-ours' | 'waiting' }
  | { readonly end: 'later'; readonly afterMs?: number }

/** The server takes 50. Fewer, so that a busy one answers within the time below and each answer is kept soon. */
const BATCH = 20
/** The server takes 256 KiB; photos travel alone or two together. */
const BATCH_BYTES = 200 * 1024
const TIMEOUT_MS = 15_000

export const isMine = (row: Pick<Row, 'op'>, author: Author): boolean =>
  row.op.author === author.personId && row.op.cellar === author.cellarId

export async function sendWaiting(way: Way): Promise<Sent> {
  let most = BATCH
  for (;;) {
    const rows = (await way.store.list()).filter((r) => isMine(r, way.author))
    const waiting = rows.filter((r) => r.state === 'phone')
    const batch = batchOf(waiting, most)
    way.under?.(batch.map((r) => r.opId))
    const reply = await ask(way, batch)
    way.under?.([])
    if (reply.kind === 'no') return reply.sent
    if (reply.kind === 'too-large') {
      if (batch.length > 1) most = Math.ceil(batch.length / 2)
      else if (batch[0]) await way.store.put([refusedHere(batch[0], reply.words, way.nowMs())])
      else return { end: 'later' }
      continue
    }
    const taken = await keep(way, batch, reply.answers)
    await way.store.setMeta('clockOffsetMs', Math.round(way.nowMs() - reply.serverMs))
    await way.store.setMeta('contactMs', way.nowMs())
    if (batch.length > 0 && taken === 0) return { end: 'waiting' }
    const isLast = batch.length === waiting.length
    if (isLast && !(await sendAgain(way, reply.held))) return { end: 'empty' }
  }
}

function batchOf(waiting: readonly Row[], most: number): readonly Row[] {
  const batch: Row[] = []
  let bytes = 0
  for (const row of waiting.slice(0, most)) {
    bytes += JSON.stringify(row.op).length
    if (batch.length > 0 && bytes > BATCH_BYTES) break
    batch.push(row)
  }
  return batch
}

type Reply =
  | { readonly kind: 'no'; readonly sent: Sent }
  | { readonly kind: 'too-large'; readonly words: string }
  | { readonly kind: 'yes'; readonly answers: readonly Answer[]; readonly serverMs: number; readonly held: number }

async function ask(way: Way, batch: readonly Row[]): Promise<Reply> {
  const stop = new AbortController()
  const timer = setTimeout(() => stop.abort(), TIMEOUT_MS)
  try {
    const response = await way.fetch('/api/operations', {
      method: 'POST',
      credentials: 'same-origin',
      // Our server never sends elsewhere; a page in between does.
      redirect: 'manual',
      headers: { 'content-type': 'application/json', accept: 'application/json, application/problem+json' },
      body: JSON.stringify({ deviceId: way.deviceId, operations: batch.map((r) => r.op) }),
      signal: stop.signal,
    })
    return await readReply(response, batch)
  } catch {
    return { kind: 'no', sent: { end: 'later' } }
  } finally {
    clearTimeout(timer)
  }
}

async function readReply(response: Response, batch: readonly Row[]): Promise<Reply> {
  const body = await jsonOf(response)
  if (response.status === 200) {
    if (isAnswers(body, batch)) {
      return { kind: 'yes', answers: body.answers, serverMs: Date.parse(body.nowAt), held: body.held }
    }
    return { kind: 'no', sent: { end: 'not-ours' } }
  }
  const ours = typeof body === 'object' && body !== null && 'type' in body && 'title' in body
  if (!ours) return { kind: 'no', sent: { end: response.status >= 500 ? 'later' : 'not-ours' } }
  if (response.status === 401) return { kind: 'no', sent: { end: 'signed-out' } }
  if (response.status === 413 || response.status === 422) return { kind: 'too-large', words: String(body.title) }
  const afterS = Number(response.headers.get('retry-after'))
  return { kind: 'no', sent: { end: 'later', ...(afterS > 0 ? { afterMs: afterS * 1000 } : {}) } }
}

const jsonOf = async (response: Response): Promise<unknown> =>
  /json/.test(response.headers.get('content-type') ?? '') ? response.json().catch(() => undefined) : undefined

/** Ours, and for exactly what was sent: anything else is somebody in between. */
function isAnswers(
  body: unknown,
  batch: readonly Row[],
): body is { readonly answers: Answer[]; readonly nowAt: string; readonly held: number } {
  if (typeof body !== 'object' || body === null) return false
  const said = body as Partial<Record<string, unknown>>
  if (said.from !== 'leesway' || typeof said.held !== 'number' || !Array.isArray(said.answers)) return false
  const sent = new Set(batch.map((r) => r.opId))
  return (said.answers as Answer[]).every((a) => sent.has(a.opId))
}

/** @returns how many were taken */
async function keep(way: Way, batch: readonly Row[], answers: readonly Answer[]): Promise<number> {
  const byId = new Map(answers.map((a) => [a.opId, a]))
  const changed = batch.flatMap((row) => {
    const answer = byId.get(row.opId)
    const next = answer && answered(row, answer, way.nowMs())
    return next && next !== row ? [next] : []
  })
  if (changed.length > 0) await way.store.put(changed)
  return changed.length
}

const refusedHere = (row: Row, words: string, nowMs: number): Row => ({
  ...row,
  state: 'refused',
  answer: { opId: row.opId, state: 'refused', reason: 'not-sent', words },
  answeredMs: nowMs,
})

/**
 * The server counts what it holds of this phone. Fewer than it has answered: it was restored from a copy, and what is
 * kept here is sent again; what it still has it answers as before.
 */
async function sendAgain(way: Way, held: number): Promise<boolean> {
  const key = `again ${way.author.cellarId} ${way.author.personId}`
  const { lack, again } = (await way.store.meta<Again>(key)) ?? { lack: 0, again: false }
  const answeredRows = (await way.store.list()).filter(
    (r) => isMine(r, way.author) && r.state !== 'phone' && !NOT_HELD.has(r.answer?.reason ?? ''),
  )
  const short = answeredRows.length - held - lack
  if (short <= 0) {
    if (again) await way.store.setMeta(key, { lack, again: false } satisfies Again)
    return false
  }
  // All were told again and it still counts fewer: another phone told some of them first.
  if (again) {
    await way.store.setMeta(key, { lack: lack + short, again: false } satisfies Again)
    return false
  }
  await way.store.setMeta(key, { lack, again: true } satisfies Again)
  await way.store.put(
    answeredRows.map(({ answer: _a, answeredMs: _m, ...row }) => ({ ...row, state: 'phone' as const })),
  )
  return true
}

interface Again {
  /** Told by another phone first, and counted there. */
  readonly lack: number
  readonly again: boolean
}

/** Refused without being kept by the server. */
const NOT_HELD: ReadonlySet<string> = new Set(['not-sent', 'operation-used'])
