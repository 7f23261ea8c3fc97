/** Whether the server can store anything just now. While it cannot, it reads on where it can and says so. */
import { createMiddleware } from 'hono/factory'
import { type Trouble, troubleOf } from '../../db/room.ts'
import { storageProblem } from '../constraints.ts'
import { thrown } from '../problem.ts'
import type { AppEnv } from '../routes/route.ts'

export interface Storage {
  readonly trouble: () => Trouble | undefined
  /** Before something is written: looks anew where the last look is older than a second. */
  readonly look: () => Promise<Trouble | undefined>
  /** Whether an error was one of storing; from then on nothing is written until a look finds it over. */
  readonly met: (error: unknown) => boolean
  readonly subscribe: (listener: (trouble: Trouble | undefined) => void) => () => void
  readonly close: () => void
}

/** In trouble it is looked again so often, ms. */
const AGAIN_MS = 2_000
/** Nobody may be writing while a disk fills up. */
const IDLE_MS = 30_000
const FRESH_MS = 1_000
const FIRST_MS = 250

/**
 * @param ask what keeps the database from being written to
 * @param cheap whether it may be asked before every write
 */
export function createStorage(ask: () => Promise<Trouble | undefined>, cheap: boolean): Storage {
  const listeners = new Set<(trouble: Trouble | undefined) => void>()
  let trouble: Trouble | undefined
  let lookedMs = Number.NEGATIVE_INFINITY
  let looking: Promise<Trouble | undefined> | undefined
  let timer: ReturnType<typeof setTimeout> | undefined
  let closed = false

  const say = (now: Trouble | undefined) => {
    if (now === trouble) return
    trouble = now
    for (const listener of listeners) listener(now)
  }
  const lookNow = () => {
    looking ??= ask()
      .then((now) => {
        lookedMs = performance.now()
        say(now)
        plan()
        return now
      })
      .finally(() => {
        looking = undefined
      })
    return looking
  }
  const plan = (inMs = trouble === undefined ? IDLE_MS : AGAIN_MS) => {
    clearTimeout(timer)
    if (closed || (trouble === undefined && !cheap)) return
    timer = setTimeout(() => void lookNow(), inMs)
    timer.unref()
  }
  plan()
  return {
    trouble: () => trouble,
    look: async () => (cheap && performance.now() - lookedMs > FRESH_MS ? await lookNow() : trouble),
    met: (error) => {
      const now = troubleOf(error)
      if (now === undefined) return false
      // A lost connection alone is over at once.
      const isNew = trouble === undefined
      say(now)
      if (isNew) plan(FIRST_MS)
      return true
    },
    subscribe: (listener) => {
      listeners.add(listener)
      return () => void listeners.delete(listener)
    },
    close: () => {
      closed = true
      clearTimeout(timer)
    },
  }
}

/** For whoever looks after storing elsewhere: tests on a database in memory. */
export const alwaysStored: Storage = {
  trouble: () => undefined,
  look: async () => undefined,
  met: (error) => troubleOf(error) !== undefined,
  subscribe: () => () => {},
  close: () => {},
}

const READING = new Set(['GET', 'HEAD', 'OPTIONS'])
/** What is posted only to be computed. */
const COMPUTED = /^\/api\/(calc\/|lots\/check$)|\/preview$/

/** Refuses what would write before anything of it is begun. */
export const storable = createMiddleware<AppEnv>(async (c, next) => {
  if (!READING.has(c.req.method) && !COMPUTED.test(c.req.path)) {
    const trouble = await c.var.storage.look()
    if (trouble) throw thrown(storageProblem(trouble))
  }
  await next()
})

/**
 * Does it at once, or, where nothing can be stored just now, as soon as something can; once.
 *
 * @param failed hears of a later failure that is not one of storing
 * @returns whether it is done
 */
export async function onceStored(
  storage: Storage,
  work: () => Promise<unknown>,
  failed: (error: unknown) => void,
): Promise<boolean> {
  let isDone = false
  await aside(storage, async () => {
    await work()
    isDone = true
  })
  if (isDone) return true
  const unsubscribe = storage.subscribe((trouble) => {
    if (trouble) return
    unsubscribe()
    onceStored(storage, work, failed).catch(failed)
  })
  return false
}

/** Something small beside a reading: let be where nothing can be stored. */
export async function aside(storage: Storage, write: () => Promise<unknown>): Promise<void> {
  if (storage.trouble()) return
  try {
    await write()
  } catch (error) {
    if (!storage.met(error)) throw error
  }
}
