/** The planner in a thread of its own: facts and options come in packed, progress and the plan go out. */
import { parentPort, workerData } from 'node:worker_threads'
import { packed, unpacked } from './packed.ts'
import { type PlanOptions, planCellar } from './plan.ts'
import type { Facts } from './protocol/facts.ts'

const { facts, options } = unpacked(workerData) as { readonly facts: Facts; readonly options: PlanOptions }
const plan = planCellar(facts, { ...options, watch: (progress) => parentPort?.postMessage({ progress }) })
parentPort?.postMessage({ plan: packed(plan) })
