import type { AlignedData } from 'uplot'
import { sugarLeftOfBrix } from '../../api/cellar/apparent.ts'
import { brixOfDensity } from '../../api/cellar/sugar.ts'
import type { ReadingWire } from '../../api/wire.ts'
import { msOf } from '../format.ts'
import type { ForecastPoint } from '../queries.ts'

/** Sugar left in g/L of a hydrometer or laboratory reading; nothing where it cannot be told. */
export function sugarOfReading(reading: Pick<ReadingWire, 'kind' | 'value'>, startBrix: number): number | undefined {
  try {
    switch (reading.kind) {
      case 'sugar':
      case 'glucose-fructose':
        return reading.value
      case 'brix':
        return sugarLeftOfBrix({ startBrix }, reading.value).sugarGPerL
      case 'density':
        return sugarLeftOfBrix({ startBrix }, brixOfDensity(reading.value)).sugarGPerL
      default:
        return undefined
    }
  } catch {
    return undefined // outside the range in which the hydrometer can be read back
  }
}

type Row = readonly [atS: number, low: number | null, high: number | null, likely: number | null, read: number | null]

/** One time axis for the forecast and the readings, as uPlot wants it. */
export function curveRows(
  points: readonly ForecastPoint[],
  readings: readonly ReadingWire[],
  startBrix: number,
): AlignedData {
  const rows: Row[] = [
    ...points.map((point): Row => [msOf(point.at) / 1000, point.lowGPerL, point.highGPerL, point.sugarGPerL, null]),
    ...readings.flatMap((reading): Row[] => {
      const sugar = sugarOfReading(reading, startBrix)
      return sugar === undefined ? [] : [[msOf(reading.takenAt) / 1000, null, null, null, sugar]]
    }),
  ].sort((a, b) => a[0] - b[0])
  return [0, 1, 2, 3, 4].map((column) => rows.map((row) => row[column] ?? null)) as AlignedData
}
