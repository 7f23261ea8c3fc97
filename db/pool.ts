/**
 * Connections to a server database, each lent to one piece of work at a time and thrown away once it is lost.
 *
 * The driver's own pool does not survive well a database that goes away (postgres 3.4.9): a `reserve` that was refused
 * stays in its queue and takes the next connection that comes up, which then serves nobody; and a connection that was
 * told FATAL tells it again to the first who asks after it came back. So every connection is a client of its own here,
 * opened by a plain question and never used again after trouble.
 */
import type { Sql } from 'postgres'
import { ofDatabase } from './room.ts'

/** One connection. */
export interface Line {
  readonly sql: Sql
  /** It is gone: nothing may be asked on it. */
  lost: boolean
  /** Where its last plain query stood. */
  place?: string | undefined
  /** Gives the line up where no answer comes at all. */
  readonly hear: <T>(answer: PromiseLike<T>) => Promise<T>
  /** Refuses the work it is lent to. */
  refuse?: ((error: Error) => void) | undefined
}

export interface Pool {
  /** The work is refused as soon as its connection is lost, whatever it is waiting for. */
  readonly lend: <T>(work: (line: Line) => Promise<T>) => Promise<T>
  readonly end: () => Promise<void>
}

/** A statement that hears nothing for so long is not slow: its database is gone or frozen. Chosen by us. */
const SILENT_MS = 60_000

export const lostError = () =>
  Object.assign(new Error('the connection to the database is lost'), { code: 'CONNECTION_CLOSED' })

/** @param make a client of one connection that tells when it closes */
export function createPool(make: (closed: () => void) => Sql, most: number, silentMs = SILENT_MS): Pool {
  const lines = new Set<Line>()
  const idle: Line[] = []
  const waiting: (() => void)[] = []

  const drop = (line: Line) => {
    if (line.lost) return
    line.lost = true
    lines.delete(line)
    line.refuse?.(lostError())
    void line.sql.end({ timeout: 0 }).catch(() => {})
    waiting.shift()?.()
  }

  async function opened(): Promise<Line> {
    const line: Line = {
      sql: make(() => drop(line)),
      lost: false,
      hear: (answer) => heard(answer, silentMs, () => drop(line)),
    }
    lines.add(line)
    try {
      await line.hear(line.sql.unsafe('select 1'))
      return line
    } catch (error) {
      drop(line)
      throw ofDatabase(error)
    }
  }

  async function take(): Promise<Line> {
    for (;;) {
      const line = idle.pop()
      if (line && !line.lost) return line
      if (!line && lines.size < most) return opened()
      if (!line) await new Promise<void>((free) => waiting.push(free))
    }
  }

  const give = (line: Line) => {
    line.refuse = undefined
    if (line.lost) return
    idle.push(line)
    waiting.shift()?.()
  }

  return {
    lend: async (work) => {
      const line = await take()
      try {
        return await new Promise((done, fail) => {
          line.refuse = fail
          work(line).then(done, fail)
        })
      } finally {
        give(line)
      }
    },
    end: async () => void (await Promise.all([...lines].map((line) => line.sql.end({ timeout: 5 })))),
  }
}

async function heard<T>(answer: PromiseLike<T>, silentMs: number, giveUp: () => void): Promise<T> {
  const timer = setTimeout(giveUp, silentMs)
  try {
    return await answer
  } finally {
    clearTimeout(timer)
  }
}
