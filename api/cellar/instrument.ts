import { no, ok, type Result } from '../result.ts'
import { within } from './guard.ts'
import { brixOfSg } from './sugar.ts'
import { fahrenheitOfC } from './units.ts'

/**
 * Hydrometer read away from its own temperature: SG x f(T) / f(calibration), f cubic in Fahrenheit
 * (published on a web page of hydrometer corrections; sign agrees with a university page). Range 0-40 C.
 * At SG 1.09: 10 C -0.36 Brix, 15 C -0.21, 25 C +0.27, 30 C +0.60.
 */
export function hydrometerAt20(sgRead: number, tempC: number, calibratedC = 20): number {
  within('sgRead', sgRead, 0.98, 1.2)
  within('tempC', tempC, 0, 40, 'C')
  within('calibratedC', calibratedC, 10, 25, 'C')
  return (sgRead * waterFactor(tempC)) / waterFactor(calibratedC)
}

const waterFactor = (tempC: number): number => {
  const f = fahrenheitOfC(tempC)
  return 1.00130346 - 1.34722124e-4 * f + 2.04052596e-6 * f * f - 2.32820948e-9 * f * f * f
}

/**
 * Refractometer to 20 C: what to add to the reading in % mass. OIV-MA-AS2-02 Table I, rows 10-17 C as read; the two cells
 * 12/10 and 15/15 are interpolated; rows 25 and 30 C are the international table of 1936, from memory, verify.
 */
const READING_PCT = [10, 15, 20, 25] as const
const TEMP_ROWS: readonly (readonly [tempC: number, added: readonly number[]])[] = [
  [10, [-0.59, -0.62, -0.65, -0.67]],
  [12, [-0.49, -0.51, -0.53, -0.55]],
  [15, [-0.32, -0.33, -0.34, -0.35]],
  [17, [-0.2, -0.2, -0.21, -0.21]],
  [20, [0, 0, 0, 0]],
  [25, [0.36, 0.37, 0.38, 0.38]],
  [30, [0.77, 0.78, 0.79, 0.8]],
]

export function refractometerCorrection(readingPct: number, tempC: number): number {
  within('tempC', tempC, 10, 30, 'C')
  within('readingPct', readingPct, 10, 25, '% mass')
  return between(
    TEMP_ROWS.map(([t, row]) => [
      t,
      between(
        READING_PCT.map((b, i) => [b, row[i] as number]),
        readingPct,
      ),
    ]),
    tempC,
  )
}

/** Brix of a must by refractometer. Alcohol bends light too: once it is there the reading is refused, not corrected. */
export function refractometerBrix(
  readingPct: number,
  tempC: number,
  alcoholPctVol = 0,
): Result<number, 'alcohol-present'> {
  if (within('alcoholPctVol', alcoholPctVol, 0, 25, '% vol') > 0.2) return no('alcohol-present')
  return ok(readingPct + refractometerCorrection(readingPct, tempC))
}

/** Brix of a must by hydrometer. */
export const hydrometerBrix = (sgRead: number, tempC: number, calibratedC = 20): number =>
  brixOfSg(hydrometerAt20(sgRead, tempC, calibratedC))

/** Straight line between the two neighbours in a list rising in x. */
function between(list: readonly (readonly [x: number, y: number])[], x: number): number {
  const after = list.findIndex(([at]) => at >= x)
  const [x1, y1] = list[after] as readonly [number, number]
  if (after === 0) return y1
  const [x0, y0] = list[after - 1] as readonly [number, number]
  return y0 + ((x - x0) / (x1 - x0)) * (y1 - y0)
}
