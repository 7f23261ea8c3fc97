/** Who makes the plans: this thread, or one of its own so that the server goes on answering. The plans are the same. */
import { Worker } from 'node:worker_threads'
import { keeperOf } from './keeper.ts'
import { type Order, type Ordered, planned } from './order.ts'
import { packed, unpacked } from './packed.ts'
import type { Progress } from './schedule/types.ts'

export interface Asked {
  /** Stops the planning; the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal
  readonly onProgress?: (progress: Progress) => void
}

export interface Planner {
  readonly plan: (cellarId: string, order: Order, asked?: Asked) => Promise<Ordered>
  /** Whether others are answered while it plans. */
  readonly away: boolean
  readonly close: () => Promise<void>
}

/** Plans at once, in this thread. */
export function plannerHere(): Planner {
  const keeping = keeperOf()
  return {
    away: false,
    plan: async (cellarId, order, { signal, onProgress } = {}) => {
      signal?.throwIfAborted()
      return keeping(cellarId, (kept) => planned(order, kept, onProgress ? { watch: onProgress } : {}))
    },
    close: async () => {},
  }
}

/** A plan that is as it would like to be travels once. */
function arrived(ordered: unknown): Ordered {
  const one = unpacked(ordered) as Omit<Ordered, 'plan'> & Partial<Ordered>
  return { ...one, plan: one.plan ?? one.free }
}

/** What the thread says of the order it works at. */
export type Said =
  | { readonly id: number; readonly progress: Progress }
  | { readonly id: number; readonly ordered: unknown }
  | { readonly id: number; readonly error: string }

export interface Sent {
  readonly id: number
  readonly cellarId: string
  readonly order: unknown
  /** One 32-bit word: not 0 once nobody waits for the plan any more. */
  readonly stopped: SharedArrayBuffer
}

/** So long the thread has to stop by itself, which keeps what it left ready for other plans; then it is ended. */
const STOPS_WITHIN_MS = 1_000

interface Waiting {
  readonly sent: Sent
  readonly asked: Asked
  readonly resolve: (ordered: Ordered) => void
  readonly reject: (error: unknown) => void
}

/**
 * A thread that runs one of our files, built where this one is. From the sources, the TypeScript loader does not follow
 * into threads by itself: each calls for it.
 */
export const threadOf = (file: string, data: unknown): Worker =>
  import.meta.url.endsWith('.ts')
    ? fromSource(file, data)
    : new Worker(new URL(file.replace(/\.ts$/, '.js'), import.meta.url), { workerData: packed(data) })

const fromSource = (file: string, data: unknown): Worker =>
  new Worker(
    `import(${JSON.stringify(import.meta.resolve('tsx/esm/api'))})
  .then(({ register }) => { register(); return import(${JSON.stringify(new URL(file, import.meta.url).href)}) })
  .catch((error) => { setImmediate(() => { throw error }) })`,
    { eval: true, execArgv: [], workerData: packed(data) },
  )

/**
 * Plans in a thread of its own, one order after the other. Who gives up while the order waits is taken out; while it is
 * worked at, the thread is asked to stop, and ended where it does not: the next order then gets a new one.
 */
export function plannerAway(): Planner {
  let worker: Worker | undefined
  let current: Waiting | undefined
  let lastId = 0
  const queue: Waiting[] = []

  const settle = (settleOne: (one: Waiting) => void) => {
    const one = current
    current = undefined
    if (one) settleOne(one)
    next()
  }
  const hear = (said: Said) => {
    if (said.id !== current?.sent.id) return
    if ('progress' in said) current.asked.onProgress?.(said.progress)
    else if ('error' in said) settle((one) => one.reject(new Error(said.error)))
    else settle((one) => one.resolve(arrived(said.ordered)))
  }
  const started = (): Worker => {
    const made = threadOf('./planner-worker.ts', undefined)
    const lost = (error: Error) => {
      if (worker !== made) return
      worker = undefined
      settle((one) => one.reject(error))
    }
    made.on('message', hear)
    made.once('error', lost)
    made.once('exit', (code) => lost(new Error(`the planner's thread ended with ${code} and no plan`)))
    // It waits for orders as long as the server runs, and does not keep it from ending.
    made.unref()
    return made
  }
  const end = async () => {
    const old = worker
    worker = undefined
    await old?.terminate()
  }
  const next = () => {
    if (current || queue.length === 0) return
    current = queue.shift()
    worker ??= started()
    worker.postMessage(current?.sent)
  }

  // Ready before the first order comes: it takes a second to read in.
  worker = started()
  return {
    away: true,
    plan: (cellarId, order, asked = {}) =>
      new Promise((resolve, reject) => {
        const { signal } = asked
        if (signal?.aborted) {
          reject(signal.reason)
          return
        }
        const stop = () => {
          const at = queue.indexOf(one)
          if (at >= 0) queue.splice(at, 1)
          one.reject(signal?.reason)
          if (current !== one) return
          Atomics.store(new Int32Array(one.sent.stopped), 0, 1)
          setTimeout(() => {
            if (current !== one) return
            void end()
            settle(() => {})
          }, STOPS_WITHIN_MS).unref()
        }
        const done = () => signal?.removeEventListener('abort', stop)
        const one: Waiting = {
          sent: { id: ++lastId, cellarId, order: packed(order), stopped: new SharedArrayBuffer(4) },
          asked,
          resolve: (ordered) => {
            done()
            resolve(ordered)
          },
          reject: (error) => {
            done()
            reject(error)
          },
        }
        signal?.addEventListener('abort', stop, { once: true })
        queue.push(one)
        next()
      }),
    close: async () => {
      for (const one of queue.splice(0)) one.reject(new Error('the server is stopping'))
      current?.reject(new Error('the server is stopping'))
      current = undefined
      await end()
    },
  }
}
