import type { FitPrior } from './ferment-fit.ts'
import { within } from './guard.ts'

/** What starts the ferment. Anything but a cultured yeast begins with fewer cells, later and less surely. */
export const YEAST_KINDS = ['selected', 'ambient', 'vineyard-starter', 'non-saccharomyces'] as const
export type YeastKind = (typeof YEAST_KINDS)[number]

/**
 * Cells at the start as a share of a full dry-yeast dose, and how unsure start and pace are (sd of the logarithm). Our estimate:
 * a share of 0.08 (0.02 g/L) starts 2-4 days later at 15 C, as ambient ferments do in practice. A pace spread of 0.52 makes the
 * 80 % band before readings a factor of two either way, as wide as measured ferments lie from the model.
 */
const START: Readonly<Record<YeastKind, { readonly share: number; readonly spread: number; readonly pace: number }>> = {
  selected: { share: 1, spread: 0.7, pace: 0.52 },
  'non-saccharomyces': { share: 0.4, spread: 0.8, pace: 0.55 },
  'vineyard-starter': { share: 0.3, spread: 0.9, pace: 0.6 },
  ambient: { share: 0.08, spread: 1, pace: 0.65 },
}

/**
 * Coleman's flask is fast for a cool tank and ends too abruptly. Pace 0.6 with a tail of 1.5 puts 15 C, 250 mg/L, 240 g/L at
 * 13-14 days. Our estimate: tail and spread are those that let the model follow ferments of three other laws.
 */
export const DEFAULT_PACE = 0.6
export const DEFAULT_TAIL = 1.5
const TAIL_SPREAD = 0.45
/** Sugar of the must is known to 3 %: 0.3 Brix and the convention. */
const SUGAR_SPREAD = 0.03

/** What a cellar's finished ferments taught: medians, and how far single lots lie from them (sd of the logarithm). */
export interface CellarPace {
  readonly pace: number
  readonly paceSpread: number
  readonly tail: number
  readonly tailSpread: number
  /** Against the usual start of that yeast. */
  readonly start: number
  readonly startSpread: number
  readonly lots: number
}

export function priorOf(
  yeast: YeastKind,
  yeastGPerHL: number,
  sugarGPerL: number,
  paceFactor: number,
  cellar?: CellarPace,
): FitPrior {
  const start = START[yeast]
  const cells = (within('yeastGPerHL', yeastGPerHL, 5, 100, 'g/hL') / 100) * start.share
  within('paceFactor', paceFactor, 0.05, 5)
  if (!cellar) {
    return {
      pace: paceFactor,
      yeastGPerL: cells,
      tail: DEFAULT_TAIL,
      sugarGPerL,
      spread: [start.pace, start.spread, TAIL_SPREAD, SUGAR_SPREAD],
    }
  }
  // What a cultured ferment teaches carries over to an ambient one only in part.
  const looser = yeast === 'selected' ? 1 : 1.3
  return {
    pace: cellar.pace,
    yeastGPerL: cells * cellar.start,
    tail: cellar.tail,
    sugarGPerL,
    spread: [cellar.paceSpread * looser, cellar.startSpread * looser, cellar.tailSpread * looser, SUGAR_SPREAD],
  }
}

/** Usual cells at the start of a yeast kind, g/L. */
export const usualCells = (yeast: YeastKind, yeastGPerHL = 25): number => (yeastGPerHL / 100) * START[yeast].share

export interface FinishedFerment {
  readonly pace: number
  readonly tail: number
  /** Fitted cells over the usual ones of its yeast. */
  readonly start: number
}

/** The default counts as this many lots, so that two odd ferments do not make a rule. */
const DEFAULT_WEIGHT = 1.5
const DEFAULT_DEGREES = 3

/**
 * Pace of a cellar from its finished ferments: normal and inverse-gamma priors on each logarithm, so that the median moves from the
 * default towards the lots as they grow in number, and the spread becomes that of the lots. No lots: the default.
 */
export function cellarPace(lots: readonly FinishedFerment[]): CellarPace {
  const pace = learn(
    lots.map((l) => l.pace),
    DEFAULT_PACE,
    START.selected.pace,
  )
  const tail = learn(
    lots.map((l) => l.tail),
    DEFAULT_TAIL,
    TAIL_SPREAD,
  )
  const start = learn(
    lots.map((l) => l.start),
    1,
    START.selected.spread,
  )
  return {
    pace: pace.median,
    paceSpread: pace.spread,
    tail: tail.median,
    tailSpread: tail.spread,
    start: start.median,
    startSpread: start.spread,
    lots: lots.length,
  }
}

function learn(values: readonly number[], usual: number, spread: number): { median: number; spread: number } {
  const logs = values.map((v) => Math.log(within('fitted value of an old lot', v, 1e-4, 1e4)))
  const n = logs.length
  const centre = Math.log(usual)
  const mean = n === 0 ? centre : logs.reduce((a, b) => a + b, 0) / n
  const scatter = logs.reduce((total, x) => total + (x - mean) ** 2, 0)
  const pulled = (DEFAULT_WEIGHT * n * (mean - centre) ** 2) / (DEFAULT_WEIGHT + n)
  // The default spread is that of lots within a cellar and of cellars among each other, together.
  const withinCellar = spread ** 2 / (1 + 1 / DEFAULT_WEIGHT)
  const variance = (DEFAULT_DEGREES * withinCellar + scatter + pulled) / (DEFAULT_DEGREES + n)
  return {
    median: Math.exp((DEFAULT_WEIGHT * centre + n * mean) / (DEFAULT_WEIGHT + n)),
    spread: Math.sqrt(variance * (1 + 1 / (DEFAULT_WEIGHT + n))),
  }
}
