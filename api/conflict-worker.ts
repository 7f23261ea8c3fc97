/** The limits behind a broken rule, looked for in a thread of its own: it takes a dozen plans. */
import { parentPort, workerData } from 'node:worker_threads'
import { conflictIn } from './conflict.ts'
import { unpacked } from './packed.ts'
import type { PlanOptions } from './plan.ts'
import type { Facts } from './protocol/facts.ts'

const { facts, options, taskKey } = unpacked(workerData) as {
  readonly facts: Facts
  readonly options: PlanOptions
  readonly taskKey?: string
}
parentPort?.postMessage({ conflict: conflictIn(facts, options, taskKey) })
