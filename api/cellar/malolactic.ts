import { within } from './guard.ts'

/**
 * How hard malolactic will be: sum of points of a published scorecard (a culture supplier's feasibility sheet; points
 * 1, 2, 8, 10 by column). Temperature bands are printed in Fahrenheit: 64-72 is 17.8-22.2 C.
 */
export interface MalolacticConditions {
  readonly alcoholPctVol: number
  readonly pH: number
  readonly freeSo2MgPerL: number
  readonly totalSo2MgPerL: number
  readonly tempC: number
  readonly malicGPerL: number
  readonly nutrientDemand?: 'low' | 'medium' | 'high' | 'very-high'
  readonly ferment?: 'no-problem' | 'transient-stress' | 'sluggish' | 'prolonged-lees'
  readonly maxBrixPerDay?: number
}

export type MalolacticDifficulty = 'easy' | 'moderate' | 'hard' | 'very-hard'

const POINTS = [1, 2, 8, 10] as const
const DEMAND = ['low', 'medium', 'high', 'very-high'] as const
const FERMENT = ['no-problem', 'transient-stress', 'sluggish', 'prolonged-lees'] as const

export interface MalolacticScore {
  readonly points: number
  readonly difficulty: MalolacticDifficulty
  /** Points of each factor, hardest first, for saying why. */
  readonly parts: readonly { readonly factor: string; readonly points: number }[]
}

export function malolacticScore(c: MalolacticConditions): MalolacticScore {
  within('alcoholPctVol', c.alcoholPctVol, 0, 20, '% vol')
  within('pH', c.pH, 2.6, 4.5)
  within('freeSo2MgPerL', c.freeSo2MgPerL, 0, 200, 'mg/L')
  within('totalSo2MgPerL', c.totalSo2MgPerL, 0, 500, 'mg/L')
  within('tempC', c.tempC, -5, 40, 'C')
  within('malicGPerL', c.malicGPerL, 0, 20, 'g/L')
  const parts = [
    { factor: 'alcohol', points: rising(c.alcoholPctVol, [13, 15, 17]) },
    { factor: 'pH', points: rising(-c.pH, [-3.4, -3.1, -2.9]) },
    { factor: 'free SO2', points: rising(c.freeSo2MgPerL, [8, 12, 15]) },
    { factor: 'total SO2', points: rising(c.totalSo2MgPerL, [30, 40, 60]) },
    { factor: 'temperature', points: temperaturePoints(c.tempC) },
    { factor: 'nutrient demand', points: point(DEMAND.indexOf(c.nutrientDemand ?? 'medium')) },
    { factor: 'alcoholic fermentation', points: point(FERMENT.indexOf(c.ferment ?? 'no-problem')) },
    { factor: 'malic acid', points: malicPoints(c.malicGPerL) },
    { factor: 'fastest day', points: rising(c.maxBrixPerDay ?? 1.5, [2, 4, 6]) },
  ]
  const points = parts.reduce((total, p) => total + p.points, 0)
  return { points, difficulty: difficultyOf(points), parts: parts.toSorted((a, b) => b.points - a.points) }
}

/** Class limits 13, 23, 40: from memory, verify. */
function difficultyOf(points: number): MalolacticDifficulty {
  if (points < 13) return 'easy'
  if (points <= 22) return 'moderate'
  return points <= 40 ? 'hard' : 'very-hard'
}

const point = (column: number): number => POINTS[column] as number
/** The card prints open ends and shared inner edges; a value on an inner edge counts as the milder column. */
function rising(value: number, [first, second, third]: readonly [number, number, number]): number {
  if (value < first) return point(0)
  if (value <= second) return point(1)
  return point(value <= third ? 2 : 3)
}

function temperaturePoints(tempC: number): number {
  const tempF = tempC * 1.8 + 32
  if (tempF >= 64 && tempF <= 72) return 1
  if (tempF >= 57 && tempF <= 75) return 2
  return tempF >= 50 && tempF <= 84 ? 8 : 10
}

function malicPoints(malicGPerL: number): number {
  if (malicGPerL >= 2 && malicGPerL <= 4) return 1
  if (malicGPerL >= 1 && malicGPerL <= 5) return 2
  return malicGPerL >= 0.5 && malicGPerL <= 7 ? 8 : 10
}

export interface Weeks {
  readonly earliest: number
  readonly likely: number
  readonly latest: number
}

const BASE_WEEKS: Readonly<Record<MalolacticDifficulty, number>> = { easy: 3, moderate: 5, hard: 9, 'very-hard': 16 }

/**
 * Weeks from inoculation to malic gone. Common practice, no published model: 3-10 weeks at 18-20 C without SO2; each
 * class of the scorecard is longer, and wild bacteria wait three weeks more before they start. Band: half to double.
 */
export function malolacticWeeks(conditions: MalolacticConditions, bacteria: 'added' | 'wild' = 'added'): Weeks {
  const { points, difficulty } = malolacticScore(conditions)
  const stretch = difficulty === 'very-hard' ? 1 + (points - 40) / 50 : 1
  const likely = BASE_WEEKS[difficulty] * stretch + (bacteria === 'wild' ? 3 : 0)
  return { earliest: likely / 2, likely, latest: likely * 2 }
}
