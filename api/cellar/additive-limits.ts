/** Most that may go in, by rule book. `memory`: recalled, not read; never to be called legal. Check your own rules. */
export interface AdditiveLimit {
  readonly product: string
  readonly limit: number
  readonly unit: 'g/L' | 'g/hL' | 'mg/L' | 'meq/L' | '% of the wine'
  readonly source: string
  readonly memory: boolean
}

export const ADDITIVE_LIMITS: readonly AdditiveLimit[] = [
  { product: 'ammonium salts', limit: 1, unit: 'g/L', source: 'Reg. (EC) 643/2006 Annex I', memory: false },
  { product: 'diammonium phosphate', limit: 0.3, unit: 'g/L', source: 'OIV Code annex', memory: false },
  { product: 'diammonium phosphate', limit: 0.96, unit: 'g/L', source: '27 CFR 24.246', memory: true },
  { product: 'activated carbon', limit: 3, unit: 'g/L', source: '27 CFR 24.246 (25 lb/1000 gal)', memory: false },
  { product: 'activated carbon', limit: 100, unit: 'g/hL', source: 'OIV Code annex', memory: false },
  { product: 'gum arabic', limit: 0.3, unit: 'g/L', source: 'OIV Code annex', memory: false },
  { product: 'metatartaric acid', limit: 10, unit: 'g/hL', source: 'OIV Code annex', memory: false },
  { product: 'ascorbic acid', limit: 250, unit: 'mg/L', source: 'OIV Code annex', memory: false },
  { product: 'copper sulphate', limit: 1, unit: 'g/hL', source: 'OIV Code annex', memory: false },
  { product: 'citric acid in the wine', limit: 1, unit: 'g/L', source: 'OIV Code annex', memory: false },
  { product: 'acidification', limit: 54, unit: 'meq/L', source: 'OIV Code annex', memory: false },
  { product: 'water with additions', limit: 1, unit: '% of the wine', source: '27 CFR 24.246', memory: false },
]
