import { DAP_NITROGEN_SHARE, dapG } from './addition.ts'
import { notNegative, positive, within } from './guard.ts'

/** YAN = 0.8225 x ammonia + alpha-amino nitrogen, mg N/L. AWRI. */
export function yanMgPerL(ammoniaMgPerL: number, alphaAminoMgPerL: number): number {
  return (
    0.8225 * notNegative('ammoniaMgPerL', ammoniaMgPerL, 'mg/L') + notNegative('alphaAminoMgPerL', alphaAminoMgPerL)
  )
}

/** Below this a white runs a raised risk of sluggishness. AWRI. */
export const YAN_MIN_WHITE_MG_PER_L = 150

/** Wanted YAN by Brix: 200/250/300/350 at 21/23/25/27. Bisson & Butzke 2000; from memory, verify. 140 up to 21 Brix is called too low by many. */
export function yanWanted(brix: number): number {
  within('brix', brix, 14, 32, 'Brix')
  return Math.min(350, Math.max(YAN_MIN_WHITE_MG_PER_L, 200 + 25 * (brix - 21)))
}

/** Highest diammonium phosphate, g/L. They disagree by a factor of three. */
export const DAP_LIMITS = {
  eu: {
    gPerL: 1,
    source: 'Reg. 643/2006 Annex I (ammonium salts together); 2019/934 same, from memory',
    memory: false,
  },
  us: { gPerL: 0.96, source: '27 CFR 24.246, 8 lb per 1000 gal; from memory, verify', memory: true },
  oiv: { gPerL: 0.3, source: 'OIV Code annex', memory: false },
} as const
export type DapRegime = keyof typeof DAP_LIMITS

export interface NutrientPlan {
  readonly deficitMgPerL: number
  readonly dapG: number
  readonly dapGPerL: number
  readonly firstG: number
  readonly secondG: number
  /** Above the limit: the rest must come from organic nutrient or not at all. */
  readonly overLimit: boolean
  readonly allowedDapG: number
  readonly limitWords: string
  readonly steps: readonly string[]
}

/**
 * Diammonium phosphate to raise nitrogen, in two halves: after the start, and by one third of the sugar gone; past half it is
 * useless and feeds bacteria. Never with the yeast.
 */
export function nutrientPlan(
  yanNow: number,
  yanTarget: number,
  volumeL: number,
  regime: DapRegime = 'eu',
): NutrientPlan {
  within('yanNow', yanNow, 0, 1000, 'mg/L')
  within('yanTarget', yanTarget, 0, 500, 'mg/L')
  positive('volumeL', volumeL, 'L')
  const deficitMgPerL = Math.max(0, yanTarget - yanNow)
  const massG = dapG(deficitMgPerL, volumeL)
  const limit = DAP_LIMITS[regime]
  return {
    deficitMgPerL,
    dapG: massG,
    dapGPerL: massG / volumeL,
    firstG: massG / 2,
    secondG: massG / 2,
    overLimit: massG / volumeL > limit.gPerL,
    allowedDapG: Math.min(massG, limit.gPerL * volumeL),
    limitWords: `${limit.gPerL} g/L (${limit.source}); check your own rules`,
    steps: [
      `wanted ${yanTarget} - ${yanNow} = ${deficitMgPerL} mg N/L`,
      `${deficitMgPerL} mg/L x ${volumeL} L / 1000 / ${DAP_NITROGEN_SHARE} = ${massG.toFixed(0)} g`,
      `half after the start, half by one third of the sugar`,
    ],
  }
}

/** True while a nutrient addition still helps: up to half the sugar gone, never past two thirds. */
export function nutrientStillHelps(startSugarGPerL: number, sugarGPerL: number): boolean {
  positive('startSugarGPerL', startSugarGPerL, 'g/L')
  return (startSugarGPerL - sugarGPerL) / startSugarGPerL <= 0.5
}
