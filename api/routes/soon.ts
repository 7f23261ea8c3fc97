/** Plans anew shortly after, once for all that came meanwhile: a phone with little signal does not wait for it. */
import type { Context } from 'hono'
import type { Because } from '../protocol/moved.ts'
import { planAnew } from './anew.ts'
import type { AppEnv } from './route.ts'

const due = new Map<string, Because[]>()

export function planSoon(c: Context<AppEnv>, causes: readonly Because[]): void {
  if (causes.length === 0) return
  const { cellarId } = c.var.who
  const waiting = due.get(cellarId)
  if (waiting) {
    waiting.push(...causes)
    return
  }
  due.set(cellarId, [...causes])
  setTimeout(() => {
    const all = due.get(cellarId) ?? []
    due.delete(cellarId)
    // It says itself what went wrong; the facts stand, and the next plan follows them.
    void planAnew(c, cellarId, because(all))
  }, c.var.planAfterMs).unref()
}

/** One cause is told as it is; several as how many. What happened asks before it moves the work of others. */
function because(causes: readonly Because[]): Because {
  const [only] = causes
  if (only && causes.length === 1) return { ...only, asks: true }
  return { words: `${causes.length} records came in from phones`, asks: true }
}
