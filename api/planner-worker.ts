/** The planner in a thread of its own: orders come in packed, progress and plans go out. */
import { parentPort } from 'node:worker_threads'
import { keeperOf } from './keeper.ts'
import { type Order, planned } from './order.ts'
import { packed, unpacked } from './packed.ts'
import type { Said, Sent } from './planning.ts'

const keeping = keeperOf()
const say = (said: Said) => parentPort?.postMessage(said)

parentPort?.on('message', ({ id, cellarId, order, stopped }: Sent) => {
  const goOn = () => {
    if (Atomics.load(new Int32Array(stopped), 0) !== 0) throw new Error('nobody waits for this plan any more')
  }
  try {
    const watch = (progress: Extract<Said, { progress: unknown }>['progress']) => {
      goOn()
      say({ id, progress })
    }
    const { plan, ...rest } = keeping(cellarId, (kept) => planned(unpacked(order) as Order, kept, { watch, goOn }))
    say({ id, ordered: packed({ ...rest, ...(plan === rest.free ? {} : { plan }) }) })
  } catch (error) {
    say({ id, error: error instanceof Error ? (error.stack ?? error.message) : String(error) })
  }
})
