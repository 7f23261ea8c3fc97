import { and, eq, getTableColumns, inArray } from 'drizzle-orm'
import type { PgColumn, PgTable } from 'drizzle-orm/pg-core'
import { addition, choiceVersion, handover, movement, photo, reading, taskFact, trouble } from '../schema.ts'
import type { Db } from '../types.ts'

type Row = Readonly<Record<string, unknown>>

interface Where {
  readonly table: PgTable
  readonly cellarId: PgColumn
  readonly id: PgColumn
}

const TABLES: Readonly<Record<string, Where>> = {
  reading: { table: reading, cellarId: reading.cellarId, id: reading.id },
  addition: { table: addition, cellarId: addition.cellarId, id: addition.id },
  movement: { table: movement, cellarId: movement.cellarId, id: movement.id },
  trouble: { table: trouble, cellarId: trouble.cellarId, id: trouble.id },
  handover: { table: handover, cellarId: handover.cellarId, id: handover.id },
  photo: { table: photo, cellarId: photo.cellarId, id: photo.id },
  task: { table: taskFact, cellarId: taskFact.cellarId, id: taskFact.id },
}

/** Which table holds the rows of a kind of entry; nothing where the entry itself is all there is. */
export function tableOf(kind: string): string | undefined {
  if (kind in TABLES || kind === 'choices') return kind
  return TASK_KINDS.has(kind) ? 'task' : undefined
}

const TASK_KINDS: ReadonlySet<string> = new Set([
  'start',
  'done',
  'skip',
  'pin',
  'unpin',
  'assign',
  'undo',
  'note',
  'acknowledge',
  'problem',
  'caution',
])

/** Rows as they stand now, by the id that the record has of them. The bytes of pictures stay where they are: their digest is a column. */
export async function rowsRecorded(
  db: Db,
  cellarId: string,
  table: string,
  ids: readonly string[],
): Promise<ReadonlyMap<string, Row>> {
  if (table === 'choices') {
    const lots = [...new Set(ids.map((id) => id.slice(0, id.lastIndexOf('/'))))]
    const rows = await db
      .select()
      .from(choiceVersion)
      .where(and(eq(choiceVersion.cellarId, cellarId), inArray(choiceVersion.lotId, lots)))
    return new Map(rows.map((r) => [`${r.lotId}/${r.version}`, r]))
  }
  const where = TABLES[table]
  if (!where || ids.length === 0) return new Map()
  const { bytes: _b, ...columns } = getTableColumns(where.table)
  const rows = await db
    .select(columns)
    .from(where.table)
    .where(and(eq(where.cellarId, cellarId), inArray(where.id, [...ids])))
  return new Map(rows.map((r) => [String(r.id), r]))
}
