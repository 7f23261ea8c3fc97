/** Reads the record of a cellar through: each entry must fit the one before and the row it tells of. */

import { createHash } from 'node:crypto'
import { canonical, hashOf, listEntriesAfter, ROOT, type StoredEntry } from '../../db/queries/record.ts'
import { rowsRecorded, tableOf } from '../../db/queries/recorded.ts'
import type { Db } from '../../db/types.ts'

export interface RecordFault {
  readonly entry: number
  /** chain: an entry was changed, taken out or put in; payload: its words were; row: what it tells of was. */
  readonly rule: 'chain' | 'payload' | 'row'
  readonly words: string
}

export interface RecordCheck {
  readonly entries: number
  /** Of the last entry. Written down elsewhere, it proves later that nothing before it was changed. */
  readonly head: string
  readonly faults: readonly RecordFault[]
}

const PAGE = 1_000
/** More would only repeat the first. */
const FAULTS_MAX = 100

export async function checkRecord(db: Db, cellarId: string): Promise<RecordCheck> {
  const faults: RecordFault[] = []
  let previous = ROOT
  let entries = 0
  for (;;) {
    const page = await listEntriesAfter(db, cellarId, entries, PAGE)
    for (const e of page) {
      faults.push(...faultsOfEntry(e, entries + 1, previous))
      // Goes on from what stands there, so that one broken link is one fault.
      previous = e.hash
      entries = e.entry
    }
    faults.push(...(await faultsOfRows(db, cellarId, page)))
    if (page.length < PAGE || faults.length > FAULTS_MAX) {
      return { entries, head: previous, faults: faults.slice(0, FAULTS_MAX) }
    }
  }
}

function faultsOfEntry(e: StoredEntry, expected: number, previous: string): readonly RecordFault[] {
  const { hash, payload, ...rest } = e
  const faults: RecordFault[] = []
  const chain = (words: string) => faults.push({ entry: e.entry, rule: 'chain', words })
  if (e.entry !== expected) chain(`Entry ${expected} is missing`)
  else if (e.previous !== previous) chain('It does not follow the entry before it')
  if (hashOf(rest) !== hash) chain('It was changed after it was written')
  if (createHash('sha256').update(payload).digest('hex') !== e.digest) {
    faults.push({ entry: e.entry, rule: 'payload', words: 'What it tells was changed after it was written' })
  }
  return faults
}

async function faultsOfRows(db: Db, cellarId: string, page: readonly StoredEntry[]): Promise<readonly RecordFault[]> {
  const byTable = new Map<string, StoredEntry[]>()
  for (const e of page) {
    const table = tableOf(e.kind)
    if (table) byTable.set(table, [...(byTable.get(table) ?? []), e])
  }
  const faults: RecordFault[] = []
  for (const [table, entries] of byTable) {
    const rows = await rowsRecorded(
      db,
      cellarId,
      table,
      entries.map((e) => e.subjectId),
    )
    for (const e of entries) {
      const words = rowWords(e, rows.get(e.subjectId))
      if (words) faults.push({ entry: e.entry, rule: 'row', words })
    }
  }
  return faults.toSorted((a, b) => a.entry - b.entry)
}

/** Columns that came with the writing, not with the telling. */
const NOT_TOLD: ReadonlySet<string> = new Set(['cellarId', 'writtenAt'])

function rowWords(e: StoredEntry, row: Readonly<Record<string, unknown>> | undefined): string | undefined {
  if (!row) return `The ${e.kind} it tells of is gone`
  const told = JSON.parse(e.payload) as Record<string, unknown>
  const now = JSON.parse(canonical(row)) as Record<string, unknown>
  const names = new Set([...Object.keys(told), ...Object.keys(now).filter((name) => !NOT_TOLD.has(name))])
  const other = [...names].filter((name) => canonical(told[name] ?? null) !== canonical(now[name] ?? null))
  if (other.length === 0) return undefined
  const shown = (value: unknown) => (value === undefined ? 'nothing' : JSON.stringify(value))
  return other.map((name) => `${name} of the ${e.kind} was ${shown(told[name])}, is ${shown(now[name])}`).join('; ')
}
