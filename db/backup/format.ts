/**
 * The shape of a backup before it is packed: text, line by line.
 * First a head; then for each table a line that names it, its rows in PostgreSQL's copy text (no row holds a bare line
 * end: the format writes it as `\n`), and `\.`; last a foot with the number of rows and a digest of all before it.
 * Source: PostgreSQL 15 documentation, "COPY", text format.
 */
export const FORMAT = 'leesway-backup'
export const FORMAT_VERSION = 1
export const END_OF_ROWS = '\\.'

export interface Head {
  readonly format: typeof FORMAT
  readonly version: number
  readonly madeAt: string
  readonly from: 'pglite' | 'postgres'
  /** Tags of the migrations its tables stand at, in order. */
  readonly migrations: readonly string[]
}

export interface TableLine {
  readonly table: string
  readonly columns: readonly string[]
}

export interface Foot {
  readonly rows: Readonly<Record<string, number>>
  readonly sha256: string
}

/** A backup that cannot be read: cut short, changed, or not one at all. */
export class BadBackup extends Error {
  override readonly name = 'BadBackup'
}

const LF = 10

/** Lines with their ends, however the bytes are cut. A last line without an end is given as it is. */
export async function* linesOf(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let rest: Uint8Array[] = []
  for await (const part of source) {
    let start = 0
    for (let end = part.indexOf(LF); end >= 0; end = part.indexOf(LF, start)) {
      const line = part.subarray(start, end + 1)
      yield rest.length === 0 ? line : Buffer.concat([...rest, line])
      rest = []
      start = end + 1
    }
    if (start < part.length) rest.push(part.subarray(start))
  }
  if (rest.length > 0) yield Buffer.concat(rest)
}

export const textOf = (line: Uint8Array): string => Buffer.from(line).toString('utf8').replace(/\n$/, '')

/** @throws BadBackup where the line is not JSON */
export function jsonOf<T>(line: Uint8Array | undefined, what: string): T {
  if (!line) throw new BadBackup(`The backup ends before its ${what}: it was cut short.`)
  try {
    return JSON.parse(textOf(line)) as T
  } catch {
    throw new BadBackup(`The ${what} of the backup cannot be read: the file is damaged or is not a backup.`)
  }
}
