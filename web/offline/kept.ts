/** What was read last, kept on the phone, so that the list opens without a signal. Only what the person may see anyway. */
import type { TaskWire } from '../../api/wire.ts'
import type { KeptAnswer, Store } from './shelf.ts'

/** Days back and ahead whose tasks are kept. */
export const DAYS_BACK = 14
export const DAYS_AHEAD = 14

const TASKS = '/api/tasks'
const REMEMBERED =
  /^\/api\/(me|cellar|cellars|people|vessels|machines|lots|device|handovers|troubles|operations|photos\?.*|lab.*|readings.*)$/

export interface Kept {
  /** Keeps an answer, where it is one that the floor reads. */
  readonly remember: (path: string, body: unknown, readMs: number) => Promise<void>
  /** The kept answer to a path, or nothing. */
  readonly answer: (path: string) => Promise<KeptAnswer | undefined>
}

interface MeBody {
  readonly person?: { readonly id: string } | null
}

export function createKept(store: Store): Kept {
  const personOf = async () => ((await store.view('/api/me'))?.body as MeBody | undefined)?.person?.id ?? ''
  return {
    remember: async (path, body, readMs) => {
      if (path === '/api/me') {
        const id = (body as MeBody).person?.id
        // Somebody else, or nobody any more: what was kept for the one before is wiped.
        if (id !== (await personOf())) await store.clearView()
        if (id !== undefined) await store.setView([{ path, person: id, body, asOfMs: readMs }])
        return
      }
      const key = isAllTasks(path) ? TASKS : path
      if (key !== TASKS && !REMEMBERED.test(path)) return
      const person = await personOf()
      if (person) await store.setView([{ path: key, person, body, asOfMs: readMs }])
    },
    answer: async (path) => {
      const exact = await store.view(path)
      if (exact) return exact
      if (!path.startsWith(TASKS)) return undefined
      const all = await store.view(TASKS)
      if (!all) return undefined
      const body = tasksAsked(path, (all.body as { tasks: TaskWire[] }).tasks)
      return body === undefined ? undefined : { ...all, path, body }
    },
  }
}

/** The one question whose answer holds all that the others ask for. */
export const allTasksPath = (nowMs: number): string => {
  const day = (days: number) => new Date(nowMs + days * 86_400_000).toISOString().slice(0, 10)
  return `${TASKS}?from=${day(-DAYS_BACK)}T00:00:00Z&to=${day(DAYS_AHEAD)}T00:00:00Z`
}

const isAllTasks = (path: string): boolean =>
  /^\/api\/tasks\?from=[\d-]+T00:00:00Z&to=[\d-]+T00:00:00Z$/.test(path) && spanDays(path) === DAYS_BACK + DAYS_AHEAD

function spanDays(path: string): number {
  const asked = new URLSearchParams(path.slice(path.indexOf('?')))
  return (Date.parse(asked.get('to') ?? '') - Date.parse(asked.get('from') ?? '')) / 86_400_000
}

/** As the server would answer it from these tasks: those that touch the span, of a lot, of a person; or one of them. */
export function tasksAsked(path: string, tasks: readonly TaskWire[]): unknown {
  const [address = '', search = ''] = path.split('?')
  if (address !== TASKS) {
    const key = address
      .slice(TASKS.length + 1)
      .split('/')
      .map(decodeURIComponent)
      .join('/')
    return tasks.find((t) => t.key === key)
  }
  const asked = new URLSearchParams(search)
  const from = asked.get('from')
  const to = asked.get('to')
  const lot = asked.get('lot')
  const person = asked.get('person')
  const ms = Date.parse
  return {
    tasks: tasks.filter(
      (t) =>
        (!to || ms(t.startAt) < ms(to)) &&
        (!from || ms(t.endAt) > ms(from) || ms(t.startAt) >= ms(from)) &&
        (!lot || t.lotId === lot || t.lotCode === lot) &&
        (!person || t.people.includes(person)),
    ),
  }
}

/** After half a day another shift has worked on the wine: nobody should weigh by what was read before. Common practice. */
export const OLD_AFTER_H = 12

/**
 * @param readMs by the phone's clock
 * @param phoneMs now, by the phone's clock
 * @param nowMs now, by the cellar's clock
 * @returns when it was read, by the cellar's clock; nothing while it is fresh
 */
export function oldOf(readMs: number, phoneMs: number, nowMs: number): number | undefined {
  const ageMs = phoneMs - readMs
  return ageMs > OLD_AFTER_H * 3_600_000 ? nowMs - ageMs : undefined
}
