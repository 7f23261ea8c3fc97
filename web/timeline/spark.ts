/** Readings of a lot as a line in its row: the course of the sugar, each point where it was measured. */
import type { ReadingWire } from '../../api/wire.ts'
import { msOfWire } from './model.ts'

export interface Series {
  readonly label: string
  readonly atMs: Float64Array
  readonly value: Float64Array
  readonly low: number
  readonly high: number
}

/** The first of these that a lot was measured by. Units as on the wire: kg/m3, Bx, g/L. */
const KINDS: readonly (readonly [ReadingWire['kind'], string])[] = [
  ['density', 'kg/m\u00b3'],
  ['brix', 'Bx'],
  ['sugar', 'g/L'],
]

/** @param lotCodeOf code of a lot by its id */
export function seriesOf(
  readings: readonly ReadingWire[],
  lotCodeOf: (id: string) => string | undefined,
): ReadonlyMap<string, Series> {
  const corrected = new Set(readings.flatMap((r) => r.correctsId ?? []))
  const byLot = new Map<string, ReadingWire[]>()
  for (const reading of readings) {
    const code = lotCodeOf(reading.lotId)
    if (code === undefined || corrected.has(reading.id)) continue
    const list = byLot.get(code)
    if (list) list.push(reading)
    else byLot.set(code, [reading])
  }
  const series = new Map<string, Series>()
  for (const [code, list] of byLot) {
    const [kind, unit] = KINDS.find(([k]) => list.filter((r) => r.kind === k).length > 1) ?? []
    if (kind === undefined) continue
    const points = list.filter((r) => r.kind === kind).toSorted((a, b) => msOfWire(a.takenAt) - msOfWire(b.takenAt))
    const value = Float64Array.from(points, (p) => p.value)
    series.set(code, {
      label: `${points.at(-1)?.value} ${unit}`,
      atMs: Float64Array.from(points, (p) => msOfWire(p.takenAt)),
      value,
      low: Math.min(...value),
      high: Math.max(...value),
    })
  }
  return series
}

/** Share of a lot that lies as lees, 0 to 1, by the newest measurement (wire: % of the volume). */
export function leesShares(
  readings: readonly ReadingWire[],
  lotCodeOf: (id: string) => string | undefined,
): ReadonlyMap<string, number> {
  const shares = new Map<string, number>()
  for (const r of readings
    .filter((r) => r.kind === 'lees-share')
    .toSorted((a, b) => msOfWire(a.takenAt) - msOfWire(b.takenAt))) {
    const code = lotCodeOf(r.lotId)
    if (code !== undefined) shares.set(code, r.value / 100)
  }
  return shares
}
