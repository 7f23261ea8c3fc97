import { notNegative, within } from './guard.ts'

/** A figure with the range it is usually found in. */
export interface Spread {
  readonly low: number
  readonly likely: number
  readonly high: number
}

/**
 * Litres of juice (or pressed wine) from a tonne. Common practice; premium grapes gave 542-772 L/t (130-185 gal per short ton,
 * AJEV 34, 1983); sparkling 510 + 125 L/t is 2050 + 500 L from 4000 kg, the Champagne press rule.
 */
export const YIELD_L_PER_T = {
  'whole-bunch': { low: 550, likely: 620, high: 650 },
  destem: { low: 620, likely: 690, high: 720 },
  'destem-crush': { low: 620, likely: 700, high: 720 },
  'on-skins': { low: 650, likely: 675, high: 700 },
  sparkling: { low: 510, likely: 635, high: 640 },
  'late-harvest': { low: 350, likely: 400, high: 450 },
} as const satisfies Readonly<Record<string, Spread>>
export type YieldKind = keyof typeof YIELD_L_PER_T

/** A press program moves the yield: short and gentle take less, long and slow wrings. Common practice. */
export const PROGRAM_FACTOR = {
  short: 0.95,
  standard: 1,
  'whole-bunch-gentle': 0.97,
  'sparkling-fractions': 1,
  'long-slow': 1.02,
  basket: 0.96,
} as const
export type ProgramKind = keyof typeof PROGRAM_FACTOR

export interface JuiceVolume {
  readonly volumeL: Spread
  /** 60-70 % of the juice runs free. */
  readonly freeRunL: number
  readonly pressL: number
}

export function juiceVolume(tonnes: number, kind: YieldKind, program: ProgramKind = 'standard'): JuiceVolume {
  within('tonnes', tonnes, 0, 500, 't')
  const perT = YIELD_L_PER_T[kind]
  const factor = tonnes * PROGRAM_FACTOR[program]
  const likely = perT.likely * factor
  return {
    volumeL: { low: perT.low * factor, likely, high: perT.high * factor },
    freeRunL: 0.65 * likely,
    pressL: 0.35 * likely,
  }
}

/** Share of the volume left behind at a step. Common practice; fining lees 5-10 % (Waters et al.), juice lees often under 10 %. */
export const LOSS_SHARE = {
  settle: { low: 0.03, likely: 0.06, high: 0.12 },
  float: { low: 0.02, likely: 0.04, high: 0.08 },
  'rack-gross': { low: 0.02, likely: 0.035, high: 0.06 },
  'rack-fine': { low: 0.01, likely: 0.015, high: 0.02 },
  bentonite: { low: 0.02, likely: 0.05, high: 0.1 },
  transfer: { low: 0.002, likely: 0.005, high: 0.01 },
  filter: { low: 0.005, likely: 0.01, high: 0.02 },
} as const satisfies Readonly<Record<string, Spread>>
export type LossStep = keyof typeof LOSS_SHARE

export interface VolumeStep {
  readonly step: LossStep
  readonly inL: number
  readonly lossL: number
  readonly outL: number
}

/** Litres after each step in turn; what goes in comes out or is a loss. */
export function volumeThrough(volumeL: number, steps: readonly LossStep[]): readonly VolumeStep[] {
  let inL = notNegative('volumeL', volumeL, 'L')
  return steps.map((step) => {
    const lossL = inL * LOSS_SHARE[step].likely
    const row = { step, inL, lossL, outL: inL - lossL }
    inL = row.outL
    return row
  })
}

/** Fermenting vessels keep a tenth free for foam; the volume that needs. */
export const vesselNeedL = (volumeL: number, fillShare = 0.9): number =>
  notNegative('volumeL', volumeL, 'L') / within('fillShare', fillShare, 0.5, 1)
