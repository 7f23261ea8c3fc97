/** Reads the coming days for later, so that the list opens without a signal. */
import { get, isRefusal } from '../api.ts'
import { allTasksPath } from './kept.ts'

let keptAtMs = 0
const AGAIN_MS = 20_000

/** At most now and then. */
export async function keepDays(nowMs: number): Promise<void> {
  if (performance.now() - keptAtMs < AGAIN_MS && keptAtMs > 0) return
  keptAtMs = performance.now()
  const paths = [allTasksPath(nowMs), '/api/people', '/api/vessels', '/api/lots', '/api/handovers']
  for (const path of paths) {
    await get(path).catch((error: unknown) => {
      if (!isRefusal(error)) throw error
    })
  }
}
