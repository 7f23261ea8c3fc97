import type { PlanOptions } from './plan.ts'
import { threadOf } from './planning.ts'
import type { ConflictTold } from './protocol/answers/ways-out.ts'
import type { Facts } from './protocol/facts.ts'

interface Sought {
  /** A task a rule is broken at; absent: the first. */
  readonly taskKey?: string | undefined
  /** Ends the search; the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal | undefined
}

let last: Promise<unknown> = Promise.resolve()

/**
 * The same as `conflictIn`, in a thread of its own, so that the server goes on answering. One at a time in this server:
 * each keeps a core busy for a dozen plans, and the planner needs one too.
 */
export function conflictAway(
  facts: Facts,
  options: PlanOptions,
  sought: Sought = {},
): Promise<ConflictTold | undefined> {
  const mine = last.then(() => inThread(facts, options, sought))
  last = mine.catch(() => undefined)
  return mine
}

function inThread(facts: Facts, options: PlanOptions, { taskKey, signal }: Sought): Promise<ConflictTold | undefined> {
  // Who gave up while it waited has no thread begun.
  signal?.throwIfAborted()
  return new Promise<ConflictTold | undefined>((resolve, reject) => {
    const worker = threadOf('./conflict-worker.ts', { facts, options, ...(taskKey ? { taskKey } : {}) })
    const stop = () => {
      reject(signal?.reason)
      void worker.terminate()
    }
    signal?.addEventListener('abort', stop, { once: true })
    worker.on('message', ({ conflict }: { readonly conflict?: ConflictTold }) => {
      resolve(conflict)
      void worker.terminate()
    })
    worker.once('error', reject)
    worker.once('exit', (code) => {
      signal?.removeEventListener('abort', stop)
      // After an answer or an error this comes too late to matter.
      reject(new Error(`the thread ended with ${code} and no conflict`))
    })
  })
}
