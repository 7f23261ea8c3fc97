/**
 * The embedded database, which outlives its own engine. Where its log cannot be written PostgreSQL gives up at once, as
 * it must; the package (0.5.16) then asks the dead engine again and again and freezes the whole process. Here the first
 * such failure ends the engine, refuses what it was asked, and opens a new one as soon as the disk can be written to.
 */
import { setTimeout as later } from 'node:timers/promises'
import { PGlite } from '@electric-sql/pglite'
import { DURABLE_START, DurableFs } from './durable-fs.ts'
import { type KeptNames, keptPlanned } from './kept.ts'
import { codeOf, lookAtDisk, ofDatabase, type Trouble, troubleOfCode } from './room.ts'

export interface Embedded {
  readonly client: PGlite
  readonly syncs: () => number
  readonly listen: (channel: string, heard: (message: string) => void) => Promise<() => Promise<void>>
  /** Why the engine is down, or undefined. */
  readonly trouble: () => Trouble | undefined
  readonly close: () => Promise<void>
}

interface Engine {
  readonly lite: PGlite
  readonly fs: DurableFs
  readonly stopped: () => Error | undefined
  readonly kept: KeptNames
}

interface Listener {
  readonly channel: string
  readonly heard: (message: string) => void
  stop?: () => Promise<void>
}

const RETRY_MS = 1_000
const ASKING: ReadonlySet<PropertyKey> = new Set(['query', 'exec', 'sql', 'transaction'])

export async function openEmbedded(pgData: string): Promise<Embedded> {
  let engine = await start(pgData)
  let syncsBefore = 0
  let closed = false
  let reviving: Promise<void> | undefined
  const listeners = new Set<Listener>()
  const listen = async (one: Listener, on: Engine) => {
    one.stop = await on.lite.listen(one.channel, one.heard)
  }
  /** Goes on trying, whatever fails: a promise refused here would be nobody's, and end the process. */
  const revive = async () => {
    syncsBefore += engine.fs.syncs
    engine.fs.letGo()
    while (!closed) {
      await later(RETRY_MS)
      if (closed || lookAtDisk(pgData) !== undefined) continue
      const next = await start(pgData).catch(() => undefined)
      if (!next) continue
      try {
        for (const one of listeners) await listen(one, next)
        engine = next
        return
      } catch {
        // Two engines must never stand on one folder.
        if (!next.stopped()) await next.lite.close().catch(() => {})
        next.fs.letGo()
      }
    }
  }
  const reviveOnce = () => {
    reviving ??= revive().finally(() => {
      reviving = undefined
    })
  }
  const ask = async (key: PropertyKey, args: readonly unknown[]) => {
    const asked = engine
    const dead = asked.stopped()
    if (dead) {
      reviveOnce()
      throw dead
    }
    try {
      return await within(asked, asked.lite, key, args)
    } catch (error) {
      const died = asked.stopped()
      if (!died) throw error
      if (asked === engine) reviveOnce()
      throw died
    }
  }
  return {
    client: new Proxy(engine.lite, {
      get: (_, key) => {
        if (ASKING.has(key)) return (...args: unknown[]) => ask(key, args)
        const value: unknown = Reflect.get(engine.lite, key, engine.lite)
        return typeof value === 'function' ? value.bind(engine.lite) : value
      },
    }),
    syncs: () => syncsBefore + engine.fs.syncs,
    listen: async (channel, heard) => {
      const one: Listener = { channel, heard }
      listeners.add(one)
      await listen(one, engine)
      return async () => {
        listeners.delete(one)
        if (!engine.stopped()) await one.stop?.()
      }
    },
    trouble: () => {
      const died = engine.stopped()
      return died && (troubleOfCode(codeOf(died)) ?? 'database-away')
    },
    close: async () => {
      closed = true
      await reviving
      // A dead engine can say nothing more; its log is read when the folder is next opened.
      if (engine.stopped()) engine.fs.letGo()
      else await engine.lite.close()
    },
  }
}

/** Asks an engine or a transaction on it, in the words given or by the name they are kept planned under. */
function within(engine: Engine, on: object, key: PropertyKey, args: readonly unknown[]): unknown {
  const method = (Reflect.get(on, key, on) as (...args: unknown[]) => unknown).bind(on)
  if (key === 'query')
    return keptPlanned(method as Parameters<typeof keptPlanned>[0], engine.kept)(...(args as [string]))
  if (key !== 'transaction') return method(...args)
  const [work] = args as [(tx: object) => unknown]
  return method((tx: object) =>
    work(
      new Proxy(tx, {
        get: (of, k) => (k === 'query' ? (...a: unknown[]) => within(engine, of, k, a) : Reflect.get(of, k, of)),
      }),
    ),
  )
}

async function start(pgData: string): Promise<Engine> {
  const fs = new DurableFs(pgData)
  const lite = await PGlite.create({ fs, startParams: DURABLE_START }).catch((error: unknown) => {
    fs.letGo()
    throw error
  })
  return { lite, fs, stopped: endOnce(lite, fs), kept: new Map() }
}

/** The parts of the engine's module that its loop of questions calls. */
interface Loop {
  _PostgresMainLoopOnce: () => void
  stackRestore: (to: number) => void
  _PostgresSendReadyForQueryIfNecessary: () => void
  _pgl_pq_flush: () => void
}

/** How the engine leaves a question that it refuses: not an end. */
const REFUSED = 100

/** Lets the first failure that is not a refusal out of the loop, and nothing into the engine after it. */
function endOnce(lite: PGlite, fs: DurableFs): () => Error | undefined {
  const { mod } = lite as unknown as { readonly mod: Loop }
  let ended: Error | undefined
  const whileAlive = <A extends unknown[]>(work: (...args: A) => void) => {
    return (...args: A) => {
      if (ended) throw ended
      work(...args)
    }
  }
  const once = mod._PostgresMainLoopOnce
  mod._PostgresMainLoopOnce = whileAlive(() => {
    try {
      once()
    } catch (error) {
      if ((error as { status?: number }).status !== REFUSED) ended = endOf(fs)
      throw error
    }
  })
  mod.stackRestore = whileAlive(mod.stackRestore)
  mod._PostgresSendReadyForQueryIfNecessary = whileAlive(mod._PostgresSendReadyForQueryIfNecessary)
  mod._pgl_pq_flush = whileAlive(mod._pgl_pq_flush)
  return () => ended
}

/** 57P02: PostgreSQL's own word for a crash. */
const endOf = (fs: DurableFs) =>
  ofDatabase(
    Object.assign(new Error(`The embedded database stopped${fs.failure ? `: ${fs.failure}` : ''}`), {
      code: fs.failure ?? '57P02',
    }),
  )
