import { createHash } from 'node:crypto'
import { appliedTags } from '../migrate.ts'
import type { Raw, WithRaw } from '../raw.ts'
import { END_OF_ROWS, FORMAT, FORMAT_VERSION, type Foot, type Head, type TableLine } from './format.ts'
import { copiedTables, copyOf } from './tables.ts'

const LF = 10

/** Every row of every copied table as it was at one moment. */
export async function* snapshotOf(raw: Raw, kind: Head['from'], madeAt: string): AsyncGenerator<Uint8Array> {
  const hash = createHash('sha256')
  const rows: Record<string, number> = {}
  const out = (bytes: Uint8Array) => {
    hash.update(bytes)
    return bytes
  }
  const line = (value: Head | TableLine | string) =>
    out(Buffer.from(`${typeof value === 'string' ? value : JSON.stringify(value)}\n`))
  yield line({ format: FORMAT, version: FORMAT_VERSION, madeAt, from: kind, migrations: await appliedTags(raw) })
  for (const table of await copiedTables(raw)) {
    yield line({ table: table.name, columns: table.columns })
    let count = 0
    for await (const part of raw.copyOut(copyOf(table))) {
      for (let at = part.indexOf(LF); at >= 0; at = part.indexOf(LF, at + 1)) count++
      yield out(part)
    }
    rows[table.name] = count
    yield line(END_OF_ROWS)
  }
  const foot: Foot = { rows, sha256: hash.digest('hex') }
  yield Buffer.from(`${JSON.stringify(foot)}\n`)
}

/**
 * Hands a snapshot to `sink`. The embedded database has one connection, so its rows are gathered first and other work
 * goes on while they are packed; a server streams, however large it is.
 */
export async function withSnapshot<T>(
  opened: { readonly raw: WithRaw; readonly kind: Head['from'] },
  madeAt: string,
  sink: (source: AsyncIterable<Uint8Array>) => Promise<T>,
): Promise<T> {
  if (opened.kind === 'postgres') return opened.raw('read', (raw) => sink(snapshotOf(raw, opened.kind, madeAt)))
  const parts = await opened.raw('read', async (raw) => {
    const gathered: Uint8Array[] = []
    for await (const part of snapshotOf(raw, opened.kind, madeAt)) gathered.push(part)
    return gathered
  })
  return sink(each(parts))
}

async function* each<T>(values: readonly T[]): AsyncGenerator<T> {
  yield* values
}
