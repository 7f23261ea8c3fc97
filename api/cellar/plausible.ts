import { densityOfBrix, sugarOfBrix } from './sugar.ts'

/**
 * Is a reading believable? Outside `possible` it is refused: the unit or the finger slipped. Outside `usual`, or moving faster
 * than wine does, it is kept and a second measurement is asked for. Limits are common practice, no source.
 */
export interface Bounds {
  readonly unit: string
  readonly possible: readonly [number, number]
  readonly usual: readonly [number, number]
  /** Largest believable fall and rise in an hour; what an addition does is not counted. */
  readonly fallPerH?: number
  readonly risePerH?: number
  /** Repeatability: a jump under twice this is noise. */
  readonly noise?: number
}

export const READING_BOUNDS: Readonly<Record<string, Bounds>> = {
  brix: { unit: 'Brix', possible: [-5, 45], usual: [-3, 32], fallPerH: 0.35, risePerH: 0.04, noise: 0.3 },
  density: { unit: 'kg/m3', possible: [980, 1200], usual: [985, 1140], fallPerH: 1.5, risePerH: 0.2, noise: 1 },
  sugar: { unit: 'g/L', possible: [-5, 400], usual: [0, 330], fallPerH: 4, risePerH: 0.5, noise: 3 },
  'glucose-fructose': { unit: 'g/L', possible: [-1, 400], usual: [0, 330], fallPerH: 4, risePerH: 0.3, noise: 0.5 },
  temp: { unit: 'C', possible: [-8, 45], usual: [-5, 32], fallPerH: 4, risePerH: 2, noise: 0.5 },
  pH: { unit: '', possible: [2.5, 4.8], usual: [2.8, 4.1], fallPerH: 0.03, risePerH: 0.03, noise: 0.05 },
  ta: { unit: 'g/L tartaric', possible: [1, 25], usual: [3.5, 14], fallPerH: 0.1, risePerH: 0.1, noise: 0.2 },
  malic: { unit: 'g/L', possible: [0, 20], usual: [0, 9], fallPerH: 0.06, risePerH: 0.01, noise: 0.2 },
  yan: { unit: 'mg/L N', possible: [0, 1000], usual: [30, 450], noise: 10 },
  'free-so2': { unit: 'mg/L', possible: [0, 300], usual: [0, 70], fallPerH: 2, risePerH: 0.2, noise: 3 },
  'total-so2': { unit: 'mg/L', possible: [0, 600], usual: [0, 250], fallPerH: 0.5, risePerH: 0.3, noise: 5 },
  ntu: { unit: 'NTU', possible: [0, 5000], usual: [0, 1500] },
  va: { unit: 'g/L acetic', possible: [0, 5], usual: [0.05, 1], fallPerH: 0.005, risePerH: 0.02, noise: 0.05 },
  alcohol: { unit: '% vol', possible: [0, 20], usual: [0, 15.5], fallPerH: 0.01, risePerH: 0.2, noise: 0.2 },
  rot: { unit: '%', possible: [0, 100], usual: [0, 15] },
  volume: { unit: 'L', possible: [0, 1_000_000], usual: [1, 200_000] },
  headspace: { unit: '%', possible: [0, 100], usual: [0, 30] },
  'co2-air': { unit: 'ppm', possible: [200, 1_000_000], usual: [300, 5000] },
  oxygen: { unit: 'mg/L', possible: [0, 25], usual: [0, 9] },
  conductivity: { unit: 'uS/cm', possible: [0, 10_000], usual: [800, 3500] },
  'protein-haze': { unit: 'NTU', possible: [0, 1000], usual: [0, 60] },
  humidity: { unit: '%', possible: [0, 100], usual: [40, 98] },
  'lees-share': { unit: '%', possible: [0, 100], usual: [0, 20] },
  copper: { unit: 'mg/L', possible: [0, 20], usual: [0, 1] },
}

const SIGNS: Readonly<Record<string, string>> = { C: '°C', Brix: '°Bx', 'kg/m3': 'kg/m³', 'uS/cm': 'µS/cm' }

/** Of what is stored: `°C`, `mg/L`. Empty where a kind has none: pH, smell. */
export const readingUnit = (kind: string): string => {
  const unit = READING_BOUNDS[kind]?.unit ?? ''
  return SIGNS[unit] ?? unit
}

export interface Plausible {
  readonly verdict: 'fine' | 'again' | 'refused'
  readonly words: string
}

export interface EarlierReading {
  readonly value: number
  readonly hoursAgo: number
}

/** What one lot's fruit says of its readings. */
export interface LotFruit {
  readonly tonnes: number
  readonly brix: number
  readonly malicGPerL: number
}

/** More than the fruit could give is a slip. Room above it for rot, drying and sampling: common practice. */
export function usualOfLot(fruit: LotFruit): Readonly<Record<string, readonly [number, number]>> {
  const brix = Math.min(45, Math.max(8, fruit.brix) + 3)
  return {
    brix: [-3, brix],
    density: [985, Math.round(densityOfBrix(brix))],
    sugar: [0, Math.round(sugarOfBrix(brix))],
    'glucose-fructose': [0, Math.round(sugarOfBrix(brix))],
    malic: [0, fruit.malicGPerL + 2],
    volume: [1, Math.round(fruit.tonnes * MOST_L_PER_T)],
  }
}

/** Litres of must a tonne holds at most, skins and all. */
const MOST_L_PER_T = 1000

/**
 * Kinds without bounds (smell scores) pass.
 *
 * @param ofLot narrower bounds of the lot, by kind
 */
export function plausible(
  kind: string,
  value: number,
  earlier?: EarlierReading,
  ofLot?: Readonly<Record<string, readonly [number, number]>>,
): Plausible {
  const bounds = READING_BOUNDS[kind]
  if (!bounds) return { verdict: 'fine', words: '' }
  const unit = bounds.unit === '' ? '' : ` ${bounds.unit}`
  const [least, most] = bounds.possible
  if (!Number.isFinite(value) || value < least || value > most)
    return { verdict: 'refused', words: `${kind} ${value}${unit} cannot be: expected ${least} to ${most}${unit}.` }
  const [low, high] = ofLot?.[kind] ?? bounds.usual
  if (value < low || value > high)
    return {
      verdict: 'again',
      words: `${kind} ${value}${unit} is unusual${ofLot?.[kind] ? ' for this lot' : ''}, ${round(low)} to ${round(high)}${unit} is: measure again?`,
    }
  if (!earlier || earlier.hoursAgo < 0) return { verdict: 'fine', words: '' }
  const moved = value - earlier.value
  const perH = moved > 0 ? bounds.risePerH : bounds.fallPerH
  const slack = 2 * (bounds.noise ?? 0)
  if (perH === undefined || Math.abs(moved) <= slack + perH * earlier.hoursAgo) return { verdict: 'fine', words: '' }
  return {
    verdict: 'again',
    words: `${kind} jumps ${round(Math.abs(moved))}${unit} in ${round(earlier.hoursAgo)} h: measure again?`,
  }
}

const round = (x: number): string => String(Math.round(x * 100) / 100)
