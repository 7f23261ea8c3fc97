/** A stock count as it is typed. */
import type { StockWire } from '../../api/wire.ts'

export interface Counted {
  readonly volumeL: number | undefined
  readonly cause: string
  readonly reason: string
}

export interface CountLine {
  readonly vessel: string
  readonly volumeL: number
  readonly cause?: string
  readonly reason?: string
}

/** What was counted, in the order of the stock; what was left empty was not. */
export const linesOf = (stock: StockWire, typed: ReadonlyMap<string, Counted>): readonly CountLine[] =>
  stock.contents.flatMap(({ vessel }) => {
    const own = typed.get(vessel.code)
    if (own?.volumeL === undefined) return []
    return [
      {
        vessel: vessel.code,
        volumeL: own.volumeL,
        ...(own.cause ? { cause: own.cause } : {}),
        ...(own.reason.trim() ? { reason: own.reason.trim() } : {}),
      },
    ]
  })

export const countBody = (lines: readonly CountLine[], wall: string): Record<string, unknown> => ({
  ...(wall ? { atLocal: wall } : {}),
  lines,
})
