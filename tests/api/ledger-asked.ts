import { expect } from 'vitest'
import type { CheckWire, StockWire, TaskWire } from '../../api/wire.ts'
import type { Call } from './make.ts'

/** What the tests of the ledger keep asking, as whoever calls. */
export function asked(call: () => Call) {
  const get = async <T>(path: string) => {
    const answer = await call()<T>('GET', path)
    expect(answer.status, answer.text).toBe(200)
    return answer.body
  }
  return {
    get,
    check: async () => (await call()<CheckWire>('POST', '/api/ledger/checks', {})).body,
    litresIn: async (code: string) =>
      (await get<StockWire>('/api/ledger/stock')).contents.find((c) => c.vessel.code === code)!,
    keyOf: async (step: string) =>
      (await get<{ tasks: TaskWire[] }>('/api/tasks?lot=L01')).tasks.find((t) => t.step === step)!,
  }
}
