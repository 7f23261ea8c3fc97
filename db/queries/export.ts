import { asc, eq, getTableColumns } from 'drizzle-orm'
import type { PgColumn, PgTable } from 'drizzle-orm/pg-core'
import { Temporal } from '../../api/time.ts'
import {
  addition,
  cellar,
  choiceVersion,
  content,
  handover,
  handoverRead,
  ledgerCheck,
  level,
  lot,
  machine,
  movement,
  operation,
  person,
  phase,
  photo,
  planState,
  proposal,
  protocol,
  quarantine,
  reading,
  receipt,
  recordEntry,
  stockCount,
  task,
  taskFact,
  trial,
  trouble,
  troubleAnswer,
  vessel,
} from '../schema.ts'
import type { Db } from '../types.ts'

export type ExportedValue =
  | string
  | number
  | boolean
  | null
  | readonly ExportedValue[]
  | { readonly [k: string]: ExportedValue }
export type ExportedRow = Readonly<Record<string, ExportedValue>>

/** What leaves the cellar, table by table, in the order in which it could be read in again. No secrets: no passwords, sessions, links or feed addresses. */
const TABLES = {
  cellar: table(cellar, cellar.id, [cellar.id]),
  people: table(person, person.cellarId, [person.id]),
  vessels: table(vessel, vessel.cellarId, [vessel.id]),
  machines: table(machine, machine.cellarId, [machine.id]),
  protocols: table(protocol, protocol.cellarId, [protocol.id]),
  lots: table(lot, lot.cellarId, [lot.code]),
  choiceVersions: table(choiceVersion, choiceVersion.cellarId, [choiceVersion.lotId, choiceVersion.version]),
  readings: table(reading, reading.cellarId, [reading.takenAt, reading.id]),
  additions: table(addition, addition.cellarId, [addition.addedAt, addition.id]),
  receipts: table(receipt, receipt.cellarId, [receipt.id]),
  movements: table(movement, movement.cellarId, [movement.entry]),
  levels: table(level, level.cellarId, [level.vesselId, level.at, level.entry]),
  contents: table(content, content.cellarId, [content.vesselId]),
  quarantines: table(quarantine, quarantine.cellarId, [quarantine.since, quarantine.id]),
  stockCounts: table(stockCount, stockCount.cellarId, [stockCount.at, stockCount.id]),
  ledgerChecks: table(ledgerCheck, ledgerCheck.cellarId, [ledgerCheck.at]),
  taskFacts: table(taskFact, taskFact.cellarId, [taskFact.writtenAt, taskFact.at, taskFact.id]),
  troubles: table(trouble, trouble.cellarId, [trouble.at, trouble.id]),
  troubleAnswers: table(troubleAnswer, troubleAnswer.cellarId, [troubleAnswer.at, troubleAnswer.id]),
  handovers: table(handover, handover.cellarId, [handover.at, handover.id]),
  handoverReads: table(handoverRead, handoverRead.cellarId, [handoverRead.handoverId, handoverRead.personId]),
  photos: table(photo, photo.cellarId, [photo.takenAt, photo.id]),
  operations: table(operation, operation.cellarId, [operation.writtenAt, operation.opId]),
  recordEntries: table(recordEntry, recordEntry.cellarId, [recordEntry.entry]),
  tasks: table(task, task.cellarId, [task.startAt, task.key]),
  phases: table(phase, phase.cellarId, [phase.startAt, phase.key]),
  plan: table(planState, planState.cellarId, [planState.cellarId]),
  trials: table(trial, trial.cellarId, [trial.createdAt, trial.id]),
  proposals: table(proposal, proposal.cellarId, [proposal.madeAt, proposal.id]),
} as const

export type ExportName = keyof typeof TABLES
export const EXPORT_NAMES = Object.keys(TABLES) as readonly ExportName[]

/** One table of a cellar, moments and days as ISO text. */
async function exportTable(db: Db, cellarId: string, name: ExportName): Promise<readonly ExportedRow[]> {
  const { rows, cellarColumn, order } = TABLES[name]
  const found = await db
    .select(getTableColumns(rows))
    .from(rows)
    .where(eq(cellarColumn, cellarId))
    .orderBy(...order.map((column) => asc(column)))
  return found.map((row) =>
    Object.fromEntries(
      Object.entries(row)
        .filter(([key]) => !INTERNAL.has(key))
        .map(([key, value]) => [key, plain(value)]),
    ),
  )
}

/** Everything of a cellar, as it was at one moment, while others go on writing. */
export function exportAll(db: Db, cellarId: string): Promise<Record<ExportName, readonly ExportedRow[]>> {
  return db.transaction(
    async (tx) => {
      const all: Partial<Record<ExportName, readonly ExportedRow[]>> = {}
      for (const name of EXPORT_NAMES) all[name] = await exportTable(tx, cellarId, name)
      return all as Record<ExportName, readonly ExportedRow[]>
    },
    { isolationLevel: 'repeatable read', accessMode: 'read only' },
  )
}

/** Digests for comparing plans mean nothing outside. */
const INTERNAL = new Set(['fingerprint', 'content'])

function table(rows: PgTable, cellarColumn: PgColumn, order: readonly PgColumn[]) {
  return { rows, cellarColumn, order }
}

const plain = (value: unknown): ExportedValue =>
  value instanceof Uint8Array
    ? Buffer.from(value).toString('base64')
    : value instanceof Temporal.Instant || value instanceof Temporal.PlainDate
      ? value.toString()
      : ((value ?? null) as ExportedValue)
