/** One row of the paper as it was typed, and the entry it becomes. */
import type { ReadingWire, TaskWire } from '../../api/wire.ts'
import type { Format } from '../format.ts'
import { doubt, kindsFor, lastReading, readingInput } from '../readings.ts'
import { doubtWords, inWords } from './floor-words.ts'
import { isTopping, litresBody, movesLitres } from './litres.ts'

export interface SheetRow {
  /** `7`, `715`, `07:15`; empty: not done. */
  readonly time: string
  /** Ticked on the paper that its caution was read. */
  readonly caution: boolean
  readonly values: Readonly<Record<string, string>>
  readonly amounts: Readonly<Record<string, string>>
  readonly batches: Readonly<Record<string, string>>
  readonly litres: string
  /** Topping: the vessel it came from. */
  readonly source: string
  readonly note: string
}

/** `715` and `7:15` as `07:15`; undefined where no clock shows it. */
export function timeOf(text: string): string | undefined {
  const plain = text.trim().replace(/[.h ]/, ':')
  const found = /^(\d{1,2}):?(\d{2})?$/.exec(plain)
  if (!found) return undefined
  const hour = Number(found[1])
  const minute = Number(found[2] ?? 0)
  if (hour > 23 || minute > 59) return undefined
  return `${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`
}

const numberIn = (text: string | undefined): number | undefined => {
  const plain = (text ?? '').trim().replace(',', '.')
  const value = Number(plain)
  return plain === '' || !Number.isFinite(value) ? undefined : value
}

/**
 * What a row tells: a blank dose means that it went in as planned. Readings stand as they are
 * typed: what is hard to believe was asked about before.
 */
export function sheetBody(
  task: TaskWire,
  row: SheetRow,
  told: { readonly atLocal: string; readonly people: readonly string[] },
  format: Format,
): Readonly<Record<string, unknown>> {
  const moves = movesLitres(task) || isTopping(task)
  const kinds = kindsFor(task.records, format)
  const litres = moves ? numberIn(row.litres) : undefined
  const measured = kinds.flatMap((kind) => {
    const shown = numberIn(row.values[kind])
    if (shown === undefined || (kind === 'volume' && moves)) return []
    return [{ kind, value: readingInput(kind, format).stored(shown), confirmed: true }]
  })
  // Work of the house belongs to no lot: what is measured there is part of the words.
  const readings = task.lotId === null ? [] : measured
  const words = [row.note.trim(), ...(task.lotId === null ? measured.map((one) => inWords(one, format)) : [])]
  const additions = task.doses.flatMap((dose) => {
    const typed = numberIn(row.amounts[dose.product])
    const amount = typed === undefined ? dose.amount : typed * format.doseScale(dose.amount, dose.unit).per
    const batchNo = row.batches[dose.product]?.trim()
    if (amount === 0) return []
    return [{ product: dose.product, amount, unit: dose.unit, treatedL: dose.volumeL, ...(batchNo ? { batchNo } : {}) }]
  })
  return {
    ...told,
    ...(readings.length > 0 ? { readings } : {}),
    ...(additions.length > 0 ? { additions } : {}),
    ...(litres === undefined
      ? {}
      : litresBody(task, { arrivedL: { '': format.volumeL(litres) }, sourceCode: row.source, otherCodes: [] })),
    ...(words.some(Boolean) ? { note: words.filter(Boolean).join('; ') } : {}),
  }
}

/** What speaks against the values of a row, in words. */
export function doubtsOf(
  task: TaskWire,
  row: SheetRow,
  readings: readonly ReadingWire[],
  format: Format,
  nowMs: number,
): readonly string[] {
  const own = readings.filter((reading) => reading.lotId === task.lotId)
  return kindsFor(task.records, format).flatMap((kind) => {
    const shown = numberIn(row.values[kind])
    if (shown === undefined) return []
    const words = doubt(kind, readingInput(kind, format).stored(shown), nowMs, lastReading(own, kind))
    return words ? [doubtWords(words, kind, format)] : []
  })
}

export const isWrongTime = (row: SheetRow): boolean => row.time.trim() !== '' && timeOf(row.time) === undefined

/** Told done, and the caution that stood in front of it is not said to have been read. */
export const isUnread = (task: Pick<TaskWire, 'caution' | 'state'>, row: SheetRow): boolean =>
  row.time.trim() !== '' && task.caution !== '' && task.state !== 'underway' && !row.caution
