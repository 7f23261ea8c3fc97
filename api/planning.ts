import { Worker } from 'node:worker_threads'
import { packed, unpacked } from './packed.ts'
import type { PlanOptions } from './plan.ts'
import type { Facts } from './protocol/facts.ts'
import type { CellarPlan } from './protocol/types.ts'
import type { Progress } from './schedule/types.ts'

export interface Asked {
  /** Stops the planning; the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal
  /** Schedules built so far, of how many, and hard rules still broken in the best of them. */
  readonly onProgress?: (progress: Progress) => void
}

type Said = { readonly progress: Progress } | { readonly plan: unknown }

/** A thread that runs one of our files. The TypeScript loader does not follow into threads by itself: each calls for it. */
export const threadOf = (file: string, data: unknown): Worker =>
  new Worker(
    `import(${JSON.stringify(import.meta.resolve('tsx/esm/api'))})
  .then(({ register }) => { register(); return import(${JSON.stringify(new URL(file, import.meta.url).href)}) })
  .catch((error) => { setImmediate(() => { throw error }) })`,
    { eval: true, execArgv: [], workerData: packed(data) },
  )

/**
 * The same plan as `planCellar(facts, options)`, made in a thread of its own, so that the server goes on answering.
 * `options.moves` is the budget in schedules.
 */
export function planAway(facts: Facts, options: PlanOptions, asked: Asked = {}): Promise<CellarPlan> {
  const { signal, onProgress } = asked
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(signal.reason)
      return
    }
    const worker = threadOf('./planner-worker.ts', { facts, options })
    const stop = () => {
      reject(signal?.reason)
      void worker.terminate()
    }
    signal?.addEventListener('abort', stop, { once: true })
    worker.on('message', (said: Said) => {
      if ('progress' in said) onProgress?.(said.progress)
      else {
        resolve(unpacked(said.plan) as CellarPlan)
        void worker.terminate()
      }
    })
    worker.once('error', reject)
    worker.once('exit', (code) => {
      signal?.removeEventListener('abort', stop)
      // After an answer or an error this comes too late to matter.
      reject(new Error(`the planner's thread ended with ${code} and no plan`))
    })
  })
}
