import { notNegative } from './guard.ts'

/** Juice turbidity before fermentation. Sources disagree; 80-150 is the default, with warnings outside 50-250. */
export const TURBIDITY_RANGES = [
  { low: 50, high: 150, source: 'WINETECH Technical Yearbook 2021 p.151', memory: false },
  { low: 100, high: 250, source: 'Ribereau-Gayon type guidance', memory: true },
  { low: 80, high: 150, source: 'default here: about 100 NTU is the best compromise (Nicolini 2011)', memory: false },
] as const

export interface TurbidityAdvice {
  readonly level: 'clear' | 'good' | 'cloudy'
  readonly words: string
}

export function turbidityAdvice(ntu: number): TurbidityAdvice {
  notNegative('ntu', ntu, 'NTU')
  if (ntu < 50) return { level: 'clear', words: 'Too clear: raised risk of sticking; add solids back or feed.' }
  if (ntu > 250)
    return { level: 'cloudy', words: 'Cloudy: sulphides and coarse notes; settle on, float or rack again.' }
  return { level: 'good', words: 'Within 50-250 NTU; 80-150 is the usual aim.' }
}
