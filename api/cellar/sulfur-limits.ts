import { notNegative } from './guard.ts'

/** Rules a cellar may work under. Laws change: the print read is named, and every cellar must check its own. */
export const SO2_REGIMES = ['eu', 'eu-organic', 'us', 'oiv'] as const
export type So2Regime = (typeof SO2_REGIMES)[number]

export interface So2Limit {
  readonly totalMgPerL: number
  readonly source: string
  readonly printed: string
  /** True: recalled, not read. Never to be called legal on screen. */
  readonly memory: boolean
  readonly note: string
}

const CHECK = 'check your own rules'

/** Highest total SO2 of a still white by its glucose + fructose. */
export function totalSo2Limit(regime: So2Regime, sugarGPerL: number): So2Limit {
  notNegative('sugarGPerL', sugarGPerL, 'g/L')
  const eu = sugarGPerL < 5 ? 200 : 250
  switch (regime) {
    case 'eu':
      return {
        totalMgPerL: eu,
        source: 'Reg. (EU) 2019/934 Annex I Part B A(1)(b), (2)(b)',
        printed: 'UK-kept text of 2019/934',
        memory: false,
        note: `white and rose; 300 and more for listed sweet wines; ${CHECK}`,
      }
    case 'eu-organic':
      return {
        totalMgPerL: sugarGPerL < 2 ? 150 : eu - 30,
        source: 'Reg. (EU) 203/2012',
        printed: '2012',
        memory: false,
        note: `150 for white under 2 g/L, else the general limit less 30; ${CHECK}`,
      }
    case 'us':
      return { totalMgPerL: 350, source: '27 CFR 4.22(b)(1)', printed: '2004', memory: false, note: CHECK }
    case 'oiv':
      return {
        totalMgPerL: sugarGPerL <= 4 ? 200 : 300,
        source: 'OIV Code, Annex C',
        printed: 'not read',
        memory: true,
        note: `from memory, verify; 400 for special sweet wines; ${CHECK}`,
      }
  }
}

/** Taste rather than law: table wine is kept under this (Practical Winery Jan/Feb 2009). */
export const TOTAL_SO2_TASTE_MG_PER_L = 110
/** Total SO2 above which the EU label must say "contains sulphites": from memory, verify. */
export const SULPHITES_LABEL_MG_PER_L = 10
