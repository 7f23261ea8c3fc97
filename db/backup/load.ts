import { createHash } from 'node:crypto'
import type { Raw } from '../raw.ts'
import {
  BadBackup,
  END_OF_ROWS,
  FORMAT,
  FORMAT_VERSION,
  type Foot,
  type Head,
  jsonOf,
  linesOf,
  type TableLine,
  textOf,
} from './format.ts'
import { copyOf, quoted } from './tables.ts'

export interface Backup {
  readonly head: Head
  /** Reads the tables on; each one's rows must be read to their end before the next. */
  readonly tables: AsyncIterable<TableLine & { readonly rows: AsyncIterable<Uint8Array> }>
  /** After the last table. */
  readonly foot: () => Foot
}

/** Opens a backup for reading. @throws BadBackup where it is cut short, changed or none */
export async function readBackup(source: AsyncIterable<Uint8Array>): Promise<Backup> {
  const lines = linesOf(source)[Symbol.asyncIterator]()
  const hash = createHash('sha256')
  const next = async () => {
    const { value, done } = await lines.next()
    return done ? undefined : value
  }
  const hashed = (line: Uint8Array) => {
    hash.update(line)
    return line
  }
  const first = await next()
  const head = jsonOf<Head>(first, 'head')
  if (head.format !== FORMAT) throw new BadBackup('This file is not a backup of Leesway.')
  if (head.version > FORMAT_VERSION) throw new BadBackup('This backup was made by a newer Leesway. Update first.')
  hashed(first!)
  let foot: Foot | undefined
  const counts: Record<string, number> = {}

  async function* rowsOf(name: string): AsyncGenerator<Uint8Array> {
    for (let line = await next(); ; line = await next()) {
      if (!line) throw new BadBackup(`The backup ends within the table ${name}: it was cut short.`)
      hashed(line)
      if (line.length <= END_OF_ROWS.length + 1 && textOf(line) === END_OF_ROWS) return
      counts[name] = (counts[name] ?? 0) + 1
      yield line
    }
  }
  async function* tables() {
    for (let line = await next(); line; line = await next()) {
      const said = jsonOf<TableLine & Partial<Foot>>(line, 'next table')
      if (said.sha256 !== undefined && said.rows !== undefined) {
        foot = { rows: said.rows as Foot['rows'], sha256: said.sha256 }
        break
      }
      hashed(line)
      counts[said.table] = 0
      yield { table: said.table, columns: said.columns, rows: rowsOf(said.table) }
    }
    if (!foot) throw new BadBackup('The backup ends before its foot: it was cut short.')
    if (foot.sha256 !== hash.digest('hex')) throw new BadBackup('The backup was changed: its digest does not fit.')
    for (const [name, count] of Object.entries(foot.rows)) {
      if (counts[name] !== count) {
        throw new BadBackup(`The backup says ${count} rows of ${name} and holds ${counts[name] ?? 0}.`)
      }
    }
  }
  return {
    head,
    tables: tables(),
    foot: () => {
      if (!foot) throw new Error('the tables have not been read to their end')
      return foot
    },
  }
}

/** Reads a backup to its end without storing anything: is it whole? @throws BadBackup */
export async function proveBackup(source: AsyncIterable<Uint8Array>): Promise<{ head: Head; foot: Foot }> {
  const backup = await readBackup(source)
  for await (const { rows } of backup.tables) for await (const _ of rows);
  return { head: backup.head, foot: backup.foot() }
}

/**
 * Fills empty tables from a backup and counts what is there afterwards. In a transaction of the caller's, so that a
 * failure leaves nothing.
 *
 * @returns rows by table, as counted in the database
 * @throws BadBackup; Error where the tables hold something else than the backup afterwards
 */
export async function loadBackup(raw: Raw, backup: Backup): Promise<Readonly<Record<string, number>>> {
  for await (const { table, columns, rows } of backup.tables) {
    await raw.copyIn(copyOf({ name: table, columns }), rows)
  }
  await catchUp(raw)
  const counted: Record<string, number> = {}
  for (const [name, expected] of Object.entries(backup.foot().rows)) {
    const [found] = await raw.ask<{ n: number }>(`select count(*)::int as n from ${quoted(name)}`)
    counted[name] = found?.n ?? 0
    if (counted[name] !== expected) throw new Error(`${name} holds ${counted[name]} rows instead of ${expected}`)
  }
  return counted
}

/** Numbers that the database gives out by itself go on after the highest one loaded. */
async function catchUp(raw: Raw): Promise<void> {
  const counters = await raw.ask<{ table: string; column: string; sequence: string }>(`
    select c.table_name as "table", c.column_name as "column",
      pg_get_serial_sequence(quote_ident(c.table_name), c.column_name) as sequence
    from information_schema.columns c
    where c.table_schema = 'public' and pg_get_serial_sequence(quote_ident(c.table_name), c.column_name) is not null`)
  for (const { table, column, sequence } of counters) {
    await raw.ask(
      `select setval('${sequence}', greatest(1, max(${quoted(column)})), max(${quoted(column)}) is not null) from ${quoted(table)}`,
    )
  }
}
