import { createMiddleware } from 'hono/factory'
import { ping } from '../../db/queries/locks.ts'
import type { Db } from '../../db/types.ts'
import type { Changes } from '../changes.ts'
import type { AppEnv } from '../routes/route.ts'

/** What is read in bulk and never waited for by a hand: exports, registers, the record. */
const BULK = /^\/api\/(export|ledger|record)(\.|\/|$)/

/** A copy follows within a second on a healthy network; after a change the main database answers for this long. */
const SETTLE_MS = 30_000
/** Whether the copy answers is looked at this often. */
const LOOK_MS = 5_000

/**
 * Bulk reading comes from a copy of the database, but not from one that may not yet know what this cellar has just
 * written, and not from one that is gone: then from the main one.
 */
export function fromReplica(readDb: Db, changes: Changes, nowMs: () => number = () => performance.now()) {
  const changedMs = new Map<string, number>()
  let look: { readonly atMs: number; readonly good: Promise<boolean> } | undefined
  const answers = () => {
    if (!look || nowMs() - look.atMs > LOOK_MS) {
      look = { atMs: nowMs(), good: ping(readDb).then(...ANSWERED) }
    }
    return look.good
  }
  const watch = (cellarId: string) => {
    if (changedMs.has(cellarId)) return
    // Not seen yet: it may have changed a moment ago.
    changedMs.set(cellarId, nowMs())
    changes.subscribe(cellarId, () => changedMs.set(cellarId, nowMs()))
  }
  return createMiddleware<AppEnv>(async (c, next) => {
    const cellarId = c.get('who')?.cellarId
    if (cellarId !== undefined) {
      watch(cellarId)
      if (c.req.method !== 'GET') changedMs.set(cellarId, nowMs())
      else if (BULK.test(c.req.path)) {
        const settled = nowMs() - (changedMs.get(cellarId) ?? 0) > SETTLE_MS
        if (settled && (await answers())) c.set('db', readDb)
        else if (settled) c.var.log.warn({}, 'the read replica does not answer')
      }
    }
    await next()
    if (cellarId !== undefined && c.req.method !== 'GET') changedMs.set(cellarId, nowMs())
  })
}

const ANSWERED = [() => true, () => false] as const
