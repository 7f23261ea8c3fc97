import { SO2_REGIMES, type So2Regime, totalSo2Limit } from '../cellar/sulfur-limits.ts'
import { runningTotal, type SulphiteAdded } from '../cellar/sulfur-total.ts'
import type { Addition, Lot, Reading } from '../protocol/facts.ts'

export interface So2Ledger {
  /** Total SO2 as it must stand now; counted upwards from the last measurement. */
  readonly totalMgPerL: number
  readonly tasted: boolean
  readonly step: string
  readonly limits: readonly {
    readonly regime: So2Regime
    readonly limitMgPerL: number
    readonly roomMgPerL: number
    readonly overLimit: boolean
    readonly source: string
    readonly printed: string
    readonly note: string
    readonly memory: boolean
  }[]
}

/** Potassium metabisulphite by its names; other sources of SO2 are measured, not counted. */
const METABISULPHITE = /metabisul(ph|f)ite|\bkms\b/i

/** A lot's SO2 against the limits of each rule book; nothing before any was measured or put in. */
export function so2Ledger(
  lot: Lot,
  readings: readonly Reading[],
  additions: readonly Addition[],
): So2Ledger | undefined {
  const corrected = new Set(readings.flatMap((r) => r.correctsId ?? []))
  const stands = readings.filter((r) => !corrected.has(r.id) && r.value >= 0)
  const newest = (...kinds: readonly Reading['kind'][]) =>
    stands
      .filter((r) => kinds.includes(r.kind))
      .toSorted((a, b) => a.takenAt.epochMilliseconds - b.takenAt.epochMilliseconds)
      .at(-1)
  const measured = newest('total-so2')
  const added: readonly SulphiteAdded[] = additions
    .filter((a) => METABISULPHITE.test(a.product) && (a.unit === 'g' || a.unit === 'kg') && a.treatedL > 0)
    .filter((a) => !measured || a.addedAt.epochMilliseconds > measured.takenAt.epochMilliseconds)
    .map((a) => ({ doseG: a.unit === 'kg' ? a.amount * 1000 : a.amount, treatedL: a.treatedL }))
  if (!measured && added.length === 0) return undefined
  const sugarGPerL = newest('glucose-fructose', 'sugar')?.value ?? lot.choices.stopSugarGPerL ?? 0
  const counted = SO2_REGIMES.map((regime) => ({
    regime,
    total: runningTotal(measured?.value ?? 0, added, regime, sugarGPerL),
    limit: totalSo2Limit(regime, sugarGPerL),
  }))
  const { total } = counted[0]!
  return {
    totalMgPerL: Math.round(total.totalMgPerL),
    tasted: total.tasted,
    step: total.steps[0] ?? '',
    limits: counted.map((c) => ({
      regime: c.regime,
      limitMgPerL: c.total.limitMgPerL,
      roomMgPerL: Math.round(c.total.roomMgPerL),
      overLimit: c.total.overLimit,
      source: c.limit.source,
      printed: c.limit.printed,
      note: c.limit.note,
      memory: c.limit.memory,
    })),
  }
}
