import { type Movement, type Outside, outsideOf } from './movement.ts'
import { type LedgerState, replay } from './replay.ts'

export interface Balance {
  readonly openingMl: number
  readonly inMl: ReadonlyMap<Outside, number>
  readonly outMl: ReadonlyMap<Outside, number>
  readonly closingMl: number
  /** opening + in - out - closing. 0 in a sound ledger, to the millilitre. */
  readonly gapMl: number
}

export const stockMl = (state: LedgerState): number =>
  [...state.contents.values()].reduce((sum, c) => sum + c.parcel.volumeMl, 0)

/** Volume balance of a period [fromMs, toMs): what was there, came, left, is there. */
export function balance(movements: readonly Movement[], fromMs: number, toMs: number): Balance {
  const opening = stockMl(replay(movements, [], { untilMs: fromMs - 1 }).state)
  const end = replay(movements, [], { untilMs: toMs - 1 })
  const bad = new Set(end.faults.map((f) => f.entryId))
  const inMl = new Map<Outside, number>()
  const outMl = new Map<Outside, number>()
  for (const m of movements) {
    if (m.atMs < fromMs || m.atMs >= toMs || bad.has(m.id)) continue
    const source = outsideOf(m.from)
    const target = outsideOf(m.to)
    if (source !== undefined) inMl.set(source, (inMl.get(source) ?? 0) + m.volumeMl)
    if (target !== undefined) outMl.set(target, (outMl.get(target) ?? 0) + m.volumeMl)
  }
  const sum = (m: ReadonlyMap<Outside, number>) => [...m.values()].reduce((a, b) => a + b, 0)
  const closing = stockMl(end.state)
  return { openingMl: opening, inMl, outMl, closingMl: closing, gapMl: opening + sum(inMl) - sum(outMl) - closing }
}
