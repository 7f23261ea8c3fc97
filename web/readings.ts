/** How each kind of reading is said, stepped and converted on screen. What is stored is always in the unit of its kind. */
import { plausible, READING_BOUNDS, readingUnit, usualOfLot } from '../api/cellar/plausible.ts'
import { brixOfDensity, densityOfBrix } from '../api/cellar/sugar.ts'
import type { ReadingKind } from '../api/protocol/facts.ts'
import type { LotWire, ReadingWire } from '../api/wire.ts'
import { brixOfShown, type Format, msOf, SUGAR_LABEL, sugarShown } from './format.ts'
import { WAYS } from './reading-ways.ts'

export { readingLabel } from './reading-ways.ts'

export interface ReadingInput {
  readonly kind: ReadingKind
  readonly label: string
  readonly unit: string
  readonly step: number
  readonly places: number
  readonly min: number | undefined
  readonly max: number | undefined
  /** From what is stored to what is shown, and back. */
  readonly shown: (value: number) => number
  readonly stored: (shown: number) => number
}

const same = (value: number) => value

/** How a person of this cellar enters this kind. Hydrometers in Oechsle, Baume or KMW are stored as density. */
export function readingInput(kind: ReadingKind, format: Format): ReadingInput {
  const way = WAYS[kind]
  const bounds = READING_BOUNDS[kind]
  const plain: ReadingInput = {
    kind,
    ...way,
    unit: readingUnit(kind),
    min: bounds?.possible[0] ?? (kind === 'smell' ? 0 : undefined),
    max: bounds?.possible[1] ?? (kind === 'smell' ? 5 : undefined),
    shown: same,
    stored: same,
  }
  if (format.units === 'us' && kind === 'temp') return converted(plain, format.tempShown, format.tempC, '°F', 1)
  if (format.units === 'us' && kind === 'volume')
    return converted(plain, format.volumeShown, format.volumeL, 'US gal', 5)
  if (kind === 'density' && (format.sugarUnit === 'oechsle' || format.sugarUnit === 'baume')) {
    const unit = format.sugarUnit
    const baume = unit === 'baume'
    return {
      ...plain,
      label: 'Sugar',
      unit: SUGAR_LABEL[unit],
      step: baume ? 0.1 : 1,
      places: baume ? 1 : 0,
      min: baume ? -2 : -20,
      max: baume ? 23 : 200,
      shown: (density) => sugarShown(brixOfShown(density, 'density'), unit),
      stored: (shown) => Math.round(densityOfBrix(brixOfShown(shown, unit)) * 10) / 10,
    }
  }
  return plain
}

const converted = (
  plain: ReadingInput,
  shown: (value: number) => number,
  stored: (shown: number) => number,
  unit: string,
  step: number,
): ReadingInput => ({
  ...plain,
  unit,
  step,
  min: plain.min === undefined ? undefined : Math.ceil(shown(plain.min)),
  max: plain.max === undefined ? undefined : Math.floor(shown(plain.max)),
  shown,
  stored,
})

/** Density and Brix are one instrument: a cellar reads one of them. */
export function kindsFor(records: readonly ReadingKind[], format: Format): readonly ReadingKind[] {
  const sugar: ReadingKind = format.sugarUnit === 'brix' ? 'brix' : 'density'
  const wanted = records.map((kind) => (kind === 'brix' || kind === 'density' ? sugar : kind))
  return [...new Set(wanted)]
}

export function sayReading(reading: Pick<ReadingWire, 'kind' | 'value'>, format: Format): string {
  const input = readingInput(reading.kind, format)
  return `${format.number(input.shown(reading.value), input.places)}${input.unit && ` ${input.unit}`}`
}

/** The newest of a kind that no later entry corrects. Brix and density are one hydrometer: the one is told as the other. */
export function lastReading(readings: readonly ReadingWire[], kind: ReadingKind): ReadingWire | undefined {
  const corrected = new Set(readings.flatMap((entry) => (entry.correctsId ? [entry.correctsId] : [])))
  const twin = TWINS[kind]
  const last = readings
    .filter((entry) => (entry.kind === kind || entry.kind === twin?.kind) && !corrected.has(entry.id))
    .reduce<ReadingWire | undefined>(
      (best, entry) => (!best || entry.takenAt >= best.takenAt ? entry : best),
      undefined,
    )
  if (!last || last.kind === kind || !twin) return last
  const value = twin.told(last.value)
  return value === undefined ? undefined : { ...last, kind, value }
}

interface Twin {
  readonly kind: ReadingKind
  readonly told: (value: number) => number | undefined
}

const TWINS: Readonly<Partial<Record<ReadingKind, Twin>>> = {
  brix: { kind: 'density', told: (density) => orNothing(() => brixOfDensity(density)) },
  density: { kind: 'brix', told: (brix) => orNothing(() => densityOfBrix(brix)) },
}

/** Outside the scale there is nothing to tell. */
function orNothing(told: () => number): number | undefined {
  try {
    return told()
  } catch {
    return undefined
  }
}

/** What speaks against a value, in words; empty where nothing does. */
export function doubt(
  kind: ReadingKind,
  value: number,
  nowMs: number,
  last?: ReadingWire,
  fruit?: LotWire['fruit'],
): string {
  const earlier = last && { value: last.value, hoursAgo: (nowMs - msOf(last.takenAt)) / 3_600_000 }
  return plausible(kind, value, earlier, fruit && usualOfLot(fruit)).words
}
