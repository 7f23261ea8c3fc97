import type { PlanOptions } from './plan.ts'
import { threadOf } from './planning.ts'
import type { ConflictTold } from './protocol/answers/ways-out.ts'
import type { Facts } from './protocol/facts.ts'

/** The same as `conflictIn`, in a thread of its own, so that the server goes on answering. */
export function conflictAway(facts: Facts, options: PlanOptions, taskKey?: string): Promise<ConflictTold | undefined> {
  return new Promise((resolve, reject) => {
    const worker = threadOf('./conflict-worker.ts', { facts, options, ...(taskKey ? { taskKey } : {}) })
    worker.on('message', ({ conflict }: { readonly conflict?: ConflictTold }) => {
      resolve(conflict)
      void worker.terminate()
    })
    worker.once('error', reject)
    // After an answer or an error this comes too late to matter.
    worker.once('exit', (code) => reject(new Error(`the thread ended with ${code} and no conflict`)))
  })
}
