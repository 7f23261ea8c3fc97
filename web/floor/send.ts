/** Everything the floor tells the cellar goes through the phone's outbox; where the phone keeps nothing, straight to the server. */
import type { TaskWire } from '../../api/wire.ts'
import { isRefusal, type Problem, post, problemOf, taskPath } from '../api.ts'
import { ofTask, pending, record } from '../offline/index.ts'
import { newId } from '../offline/new-id.ts'

export type FloorAct = 'start' | 'done' | 'skip' | 'note' | 'caution' | 'undo'
type Body = Readonly<Record<string, unknown>>

/** Noted: this phone holds it and sends it by itself, or the server took it at once. Refused: nothing was kept anywhere. */
export type Sent =
  | { readonly state: 'noted'; readonly opId: string; readonly by: 'phone' | 'server' }
  | { readonly state: 'refused'; readonly problem: Problem }

interface Kinds {
  readonly trouble: '/api/troubles'
  readonly photo: '/api/photos'
  readonly handover: '/api/handovers'
}
const ROUTES: Kinds = { trouble: '/api/troubles', photo: '/api/photos', handover: '/api/handovers' }

/** @param label one line for the list of what waits */
export function tellTask(task: TaskWire, act: FloorAct, body: Body, label: string): Promise<Sent> {
  return noted(
    () => record({ kind: act, task, body, label }),
    (opId) => post(taskPath(task.key, act), { opId, ...body }),
  )
}

export function tell(kind: keyof Kinds, body: Body, label: string): Promise<Sent> {
  return noted(
    () => record({ kind, body, label }),
    (id) => post(ROUTES[kind], { id, ...body }),
  )
}

async function noted(
  keep: () => Promise<{ readonly opId: string }>,
  send: (opId: string) => Promise<unknown>,
): Promise<Sent> {
  try {
    return { state: 'noted', opId: (await keep()).opId, by: 'phone' }
  } catch {
    // This browser keeps nothing: then only what the server takes counts.
    try {
      const opId = newId()
      await send(opId)
      return { state: 'noted', opId, by: 'server' }
    } catch (error) {
      if (!isRefusal(error)) throw error
      return { state: 'refused', problem: problemOf(error) }
    }
  }
}

export type Fate = 'phone' | 'sending' | 'stored' | 'check' | 'refused'

/** What has become of something noted: what the outbox no longer shows was stored. */
export function fateOf(
  opId: string,
  taskKey?: string,
): { readonly state: Fate; readonly words: string; readonly reason: string } {
  const all = taskKey === undefined ? pending() : ofTask(taskKey)
  const kept = all.find((one) => one.opId === opId)
  return { state: kept?.state ?? 'stored', words: kept?.words ?? '', reason: kept?.reason ?? '' }
}
