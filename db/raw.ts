import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { PGlite } from '@electric-sql/pglite'
import postgres from 'postgres'

/** What a backup needs of either database, inside one transaction: questions, and rows in the database's own copy text. */
export interface Raw {
  readonly ask: <T extends object>(text: string) => Promise<T[]>
  /** @param text a `copy ... to` without its end */
  readonly copyOut: (text: string) => AsyncIterable<Uint8Array>
  /** @param text a `copy ... from` without its end */
  readonly copyIn: (text: string, rows: AsyncIterable<Uint8Array>) => Promise<void>
}

/** `read`: the whole database as it was at one moment. `write`: all of it or nothing. */
export type RawMode = 'read' | 'write'
export type WithRaw = <T>(mode: RawMode, work: (raw: Raw) => Promise<T>) => Promise<T>

/** One connection, so a transaction sees one moment by itself; rows go through memory, a table at a time. */
export const rawLite =
  (lite: PGlite): WithRaw =>
  (_mode, work) =>
    lite.transaction((tx) =>
      work({
        ask: async <T>(text: string) => (await tx.query<T>(text)).rows,
        copyOut: async function* (text) {
          const { blob } = await tx.query(`${text} to '/dev/blob'`)
          if (blob && blob.size > 0) yield new Uint8Array(await blob.arrayBuffer())
        },
        copyIn: async (text, rows) => {
          const parts: Uint8Array<ArrayBuffer>[] = []
          for await (const part of rows) parts.push(new Uint8Array(part))
          await tx.query(`${text} from '/dev/blob'`, [], { blob: new Blob(parts) })
        },
      }),
    )

/** On a connection of its own. Row walls that would hide rows are an error, never a smaller backup. */
export const rawServer =
  (url: string): WithRaw =>
  async (mode, work) => {
    const one = postgres(url, { max: 1, onnotice: () => {}, connection: { TimeZone: 'UTC', DateStyle: 'ISO' } })
    try {
      const answer = await one.begin(mode === 'read' ? 'isolation level repeatable read read only' : '', async (tx) => {
        await tx`set local row_security = off`
        return {
          value: await work({
            ask: async <T extends object>(text: string) => [...(await tx.unsafe<T[]>(text))] as T[],
            copyOut: async function* (text) {
              const rows = await tx.unsafe(`${text} to stdout`).readable()
              for await (const part of rows) yield part as Uint8Array
              // The driver pauses its connection when a part fills the buffer, and where that was the last it forgets
              // to go on: the next question would wait for ever.
              rows._read(0)
            },
            copyIn: async (text, rows) =>
              void (await pipeline(Readable.from(rows), await tx.unsafe(`${text} from stdin`).writable())),
          }),
        }
      })
      return (answer as { value: Awaited<ReturnType<typeof work>> }).value
    } finally {
      await one.end({ timeout: 5 })
    }
  }
