/** Litres of a finished move: what was asked for, how far from the plan it is, and the entry it becomes. */
import { toleranceShare } from '../../api/cellar/ledger/tolerance.ts'
import type { TaskWire } from '../../api/wire.ts'

/** Wine that comes from a keg or a tank of its own into vessels that are full already. */
const TOPS: ReadonlySet<string> = new Set(['level-barrels', 'top-tank', 'top-barrels'])

/** Kinds of work that move wine; held to the catalogue of steps by a test. */
export const MOVES: ReadonlySet<string> = new Set([
  'destem-crush',
  'drain',
  'press',
  'cut-fractions',
  'float',
  'rack-juice',
  'juice-lees',
  'fill-barrels',
  'press-skins',
  'level-barrels',
  'stop-so2',
  'top-tank',
  'rack-gross',
  'top-barrels',
  'rack-out',
  'blend',
  'rack-fining',
  'filter-coarse',
  'sweeten',
  'filter-membrane',
])

export const isTopping = (task: Pick<TaskWire, 'step' | 'lotId'>): boolean => task.lotId !== null && TOPS.has(task.step)

/** Wine that arrives in a vessel when this is done. */
export const movesLitres = (task: Pick<TaskWire, 'lotId' | 'toVessels' | 'step'>): boolean =>
  task.lotId !== null && task.toVessels.length > 0 && MOVES.has(task.step) && !isTopping(task)

export interface LitresTold {
  /** By vessel code, L; one entry under '' where the vessels share one figure. */
  readonly arrivedL: Readonly<Record<string, number | undefined>>
  /** Topping: where the wine came from. */
  readonly sourceCode: string
  /** Done otherwise: the vessels it really went into. */
  readonly otherCodes: readonly string[]
}

/** Fields for up to this many vessels; more share one figure. */
export const OWN_FIELDS = 4

export function litresBody(task: TaskWire, told: LitresTold): Readonly<Record<string, unknown>> {
  const all = Object.entries(told.arrivedL).flatMap(([code, volumeL]) =>
    volumeL === undefined ? [] : [{ code, volumeL }],
  )
  const sumL = all.reduce((sum, one) => sum + one.volumeL, 0)
  if (isTopping(task)) {
    const into = task.toVessels.length > 0 ? task.toVessels : task.fromVessels
    if (!told.sourceCode || sumL <= 0) return {}
    const share = into.filter((code) => code !== told.sourceCode)
    return {
      vesselsMoved: share.map((to) => ({ from: told.sourceCode, to, volumeL: litre(sumL / share.length) })),
    }
  }
  if (told.otherCodes.length > 0 && sumL > 0) {
    const from = task.fromVessels.length === 1 ? { from: task.fromVessels[0] } : {}
    return {
      vesselsMoved: told.otherCodes.map((to) => ({ ...from, to, volumeL: litre(sumL / told.otherCodes.length) })),
    }
  }
  if (told.otherCodes.length > 0) return { vessels: told.otherCodes }
  if (all.length === 0) return {}
  const byVessel = all.filter((one) => one.code !== '')
  if (byVessel.length > 0) {
    const from = task.fromVessels.length === 1 ? { from: task.fromVessels[0] } : {}
    return { vesselsMoved: byVessel.map((one) => ({ ...from, to: one.code, volumeL: one.volumeL })) }
  }
  return { volumeL: sumL, vessels: task.toVessels }
}

const litre = (volumeL: number): number => Math.round(volumeL * 1000) / 1000

/** How far measured litres may be off the plan, L; and by how much they are, where they are further. */
export function offPlan(
  measuredL: number,
  plannedL: number,
  kinds: readonly (string | undefined)[],
): { readonly toleranceL: number; readonly overL?: number; readonly underL?: number } {
  const toleranceL = plannedL * toleranceShare(kinds)
  const differenceL = measuredL - plannedL
  if (!(measuredL > 0) || Math.abs(differenceL) <= toleranceL + 1e-9) return { toleranceL }
  return differenceL > 0 ? { toleranceL, overL: differenceL } : { toleranceL, underL: -differenceL }
}
