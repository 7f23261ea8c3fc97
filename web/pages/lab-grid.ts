/** The lab's sheet: lots down, kinds across; what was typed, what speaks against it, what is sent. */
import type { LotWire, ReadingWire } from '../../api/wire.ts'
import type { Format } from '../format.ts'
import { doubt, lastReading, readingInput } from '../readings.ts'

export type Kind = ReadingWire['kind']

/** One cell: `L01 pH`. */
export const cellKey = (lotId: string, kind: Kind): string => `${lotId} ${kind}`

export interface Cell {
  readonly lot: LotWire
  readonly kind: Kind
  /** In the unit that is stored. */
  readonly value: number
  /** Hard to believe, in words; empty where nothing speaks against it. */
  readonly doubt: string
}

/** A comma or a point; nothing where it is no number. */
export function typedNumber(text: string): number | undefined {
  const plain = text.trim().replace(',', '.')
  if (plain === '') return undefined
  const value = Number(plain)
  return Number.isFinite(value) ? value : undefined
}

export interface Sheet {
  readonly lots: readonly LotWire[]
  readonly kinds: readonly Kind[]
  readonly typed: Readonly<Record<string, string>>
  readonly readings: readonly ReadingWire[]
  readonly format: Format
  readonly takenMs: number
}

/** All cells with a number in them, in the order of the sheet. */
export function cellsOf(sheet: Sheet): readonly Cell[] {
  return sheet.lots.flatMap((lot) => {
    const own = sheet.readings.filter((r) => r.lotId === lot.id)
    return sheet.kinds.flatMap((kind) => {
      const shown = typedNumber(sheet.typed[cellKey(lot.id, kind)] ?? '')
      if (shown === undefined) return []
      const value = readingInput(kind, sheet.format).stored(shown)
      return [{ lot, kind, value, doubt: doubt(kind, value, sheet.takenMs, lastReading(own, kind), lot.fruit) }]
    })
  })
}

/** Cells that hold something that is no number. */
export const wrongCells = (sheet: Pick<Sheet, 'lots' | 'kinds' | 'typed'>): readonly string[] =>
  sheet.lots.flatMap((lot) =>
    sheet.kinds
      .map((kind) => cellKey(lot.id, kind))
      .filter((key) => (sheet.typed[key] ?? '').trim() !== '' && typedNumber(sheet.typed[key] ?? '') === undefined),
  )

/** Where a key leads: Enter and the arrows go down and up, Tab goes across by itself. */
export function nextCell(
  at: { readonly row: number; readonly column: number },
  key: string,
  rows: number,
  columns: number,
): { readonly row: number; readonly column: number } | undefined {
  const down = key === 'Enter' || key === 'ArrowDown'
  if (!down && key !== 'ArrowUp') return undefined
  const row = at.row + (down ? 1 : -1)
  if (row >= 0 && row < rows) return { row, column: at.column }
  // Past the last lot the next column begins, so that a column after the other is typed without the mouse.
  const column = at.column + (down ? 1 : -1)
  return column >= 0 && column < columns ? { row: down ? 0 : rows - 1, column } : undefined
}
