import { KMBS_SO2_SHARE } from './addition.ts'
import { notNegative, positive, within } from './guard.ts'
import { freeSo2Needed, type PkChoice, pkWords } from './sulfur.ts'

/**
 * Share of an addition that binds at once and is lost to free SO2. Sources disagree: one third once free SO2 exists (trade
 * guild page); 25 % at pH 3.1 rising to 50 % at pH 3.5; just after fermentation nearly all. Taken: juice and young wine 50 %,
 * later 33 %; or by pH. Measure again after a day or two in any case.
 */
export const BINDING = { juice: 0.5, young: 0.5, aged: 1 / 3 } as const
export type WineAge = keyof typeof BINDING

export const bindingByPh = (pH: number): number => 0.25 + (0.25 * (within('pH', pH, 3.1, 3.5) - 3.1)) / 0.4

export interface So2DoseInput {
  readonly volumeL: number
  readonly pH: number
  readonly freeSo2MgPerL: number
  readonly totalSo2MgPerL?: number
  readonly molecularMgPerL: number
  readonly age: WineAge
  readonly pk?: PkChoice
  /** Overrides the share that goes with the age. */
  readonly bindingShare?: number
  /** SO2 in the metabisulphite: 0.576 by formula, 0.57 in practice, less in old stock. */
  readonly so2Share?: number
  /** Use a solution of this strength instead, g SO2 per 100 mL. */
  readonly solutionPct?: number
}

export interface So2Dose {
  readonly freeTargetMgPerL: number
  readonly addMgPerL: number
  readonly bindingShare: number
  readonly doseG: number
  readonly doseMl?: number
  readonly totalAfterMgPerL?: number
  readonly steps: readonly string[]
}

/** Metabisulphite (or solution) that brings a wine's free SO2 to a molecular target. Nothing is added when it is there already. */
export function so2Dose(input: So2DoseInput): So2Dose {
  positive('volumeL', input.volumeL, 'L')
  notNegative('freeSo2MgPerL', input.freeSo2MgPerL, 'mg/L')
  const pk = input.pk ?? 1.81
  const bindingShare = within('bindingShare', input.bindingShare ?? BINDING[input.age], 0, 0.95)
  const so2Share = within('so2Share', input.so2Share ?? KMBS_SO2_SHARE, 0.3, 0.68)
  const target = freeSo2Needed(input.molecularMgPerL, input.pH, pk)
  const rise = Math.max(0, target - input.freeSo2MgPerL)
  const addMgPerL = rise / (1 - bindingShare)
  const so2G = (addMgPerL * input.volumeL) / 1000
  const doseG = so2G / so2Share
  const doseMl =
    input.solutionPct === undefined ? undefined : (so2G / within('solutionPct', input.solutionPct, 0.5, 20, '%')) * 100
  const total = input.totalSo2MgPerL
  return {
    freeTargetMgPerL: target,
    addMgPerL,
    bindingShare,
    doseG,
    doseMl,
    totalAfterMgPerL: total === undefined ? undefined : total + addMgPerL,
    steps: [
      `free needed for ${input.molecularMgPerL} mg/L molecular at pH ${input.pH}, ${pkWords(pk)}: ${target.toFixed(1)} mg/L`,
      `rise ${target.toFixed(1)} - ${input.freeSo2MgPerL} = ${rise.toFixed(1)} mg/L`,
      `${(100 * bindingShare).toFixed(0)} % binds: add ${rise.toFixed(1)} / ${(1 - bindingShare).toFixed(2)} = ${addMgPerL.toFixed(1)} mg/L`,
      `${addMgPerL.toFixed(1)} mg/L x ${input.volumeL} L / 1000 / ${so2Share} = ${doseG.toFixed(1)} g metabisulphite`,
    ],
  }
}
