import { potentialAlcoholPctVol } from '../../cellar/alcohol.ts'
import { densityOfBrix, sugarOfBrix } from '../../cellar/sugar.ts'
import type { Choices, VesselChoice } from '../choices.ts'
import type { Basis, ConflictContext } from '../types.ts'

/** What the rules ask of a lot, answered from its readings first and its choices second. */

export const CUSTOM: Basis = { kind: 'common-practice' }
export const source = (...refs: readonly string[]): Basis => ({ kind: 'source', refs })
export const partly = (note: string, ...refs: readonly string[]): Basis => ({ kind: 'source', refs, note })

/** Below this the malolactic is done (S48). */
export const MALIC_GONE_G_PER_L = 0.1

const BARRELS: readonly VesselChoice[] = ['new-barrel', 'used-barrel', 'puncheon']
const WOOD: readonly VesselChoice[] = [...BARRELS, 'cask']

export const vesselsOf = (choices: Choices): readonly VesselChoice[] =>
  choices.vesselParts ? choices.vesselParts.map((part) => part.vessel) : [choices.vessel]

export const inBarrel = (choices: Choices): boolean => vesselsOf(choices).some((vessel) => BARRELS.includes(vessel))

export const inWood = (choices: Choices): boolean => vesselsOf(choices).some((vessel) => WOOD.includes(vessel))

/** Wood in fermentation or at rest; pieces in steel are no wall that breathes. */
export const restsInWood = (choices: Choices): boolean =>
  inWood(choices) || choices.oak === 'new' || choices.oak === 'used' || choices.oak === 'cask'

/** Share of new barrels as answered, else as the vessel parts say. Unknown: undefined. */
export function newOakShare(choices: Choices): number | undefined {
  if (choices.oakNewShare !== undefined) return choices.oak === 'new' ? choices.oakNewShare : 0
  if (choices.vesselParts)
    return choices.vesselParts.filter((part) => part.vessel === 'new-barrel').reduce((sum, part) => sum + part.share, 0)
  return choices.vessel === 'new-barrel' ? 1 : undefined
}

/** Cannot be chilled fast: no jacket, no plate. */
export function cannotChill(c: ConflictContext): boolean {
  return vesselsOf(c.choices).some(
    (vessel) =>
      WOOD.includes(vessel) ||
      vessel === 'amphora' ||
      vessel === 'unjacketed-tank' ||
      vessel === 'open-tank' ||
      (vessel === 'concrete' && c.concretePlate !== true),
  )
}

export const malolacticWanted = (choices: Choices): boolean => choices.malolactic !== 'refuse'

export const malolacticFinished = (c: ConflictContext): boolean =>
  c.malolacticDone === true || (c.latest.malic !== undefined && c.latest.malic < MALIC_GONE_G_PER_L)

export const malolacticAhead = (c: ConflictContext): boolean => malolacticWanted(c.choices) && !malolacticFinished(c)

/** Where the lot is. Told by the caller, else by what was measured of it. */
export function phaseOf(c: ConflictContext): 'fruit' | 'juice' | 'ferment' | 'wine' {
  if (c.phase) return c.phase
  if (c.latest.alcohol !== undefined || c.latest['glucose-fructose'] !== undefined) return 'wine'
  const density = c.latest.density
  if (density === undefined || !brixInRange(c.fruit.brix)) return 'fruit'
  // 5 kg/m3 under the fruit's own density: more than the hydrometer's error, so sugar has gone.
  if (density > densityOfBrix(c.fruit.brix) - 5) return 'juice'
  return density > 1000 ? 'ferment' : 'wine'
}

export const pHOf = (c: ConflictContext): number => c.latest.pH ?? c.fruit.pH

export const rotPctOf = (c: ConflictContext): number => c.latest.rot ?? c.fruit.rotPct

/** Fruit or must on its way to the press, after the cooling that was chosen and that the cellar has. */
export function fruitTempOf(c: ConflictContext): number {
  const { choices, fruit } = c
  const cooled =
    (choices.fruitCooling === 'must-chiller' && c.mustChillerInCellar !== false) ||
    (choices.fruitCooling === 'cold-room' && c.coldRoomInCellar !== false) ||
    choices.fruitCooling === 'dry-ice'
  const planned = cooled ? Math.min(fruit.fruitTempC, choices.fruitCoolToC) : fruit.fruitTempC
  return phaseOf(c) === 'juice' && c.latest.temp !== undefined ? c.latest.temp : planned
}

/** Cloud of the juice: measured while it is juice or ferments, else as planned. */
export function juiceNtuOf(c: ConflictContext): number {
  const phase = phaseOf(c)
  if (c.latest.ntu !== undefined && (phase === 'juice' || phase === 'ferment')) return c.latest.ntu
  return c.choices.clarification === 'none' ? Number.POSITIVE_INFINITY : c.choices.clarityNtu
}

/** The temperature it ferments at: measured while it ferments, else the set point. */
export const fermentTempOf = (c: ConflictContext): number =>
  phaseOf(c) === 'ferment' && c.latest.temp !== undefined ? c.latest.temp : c.choices.fermentTempC

/** The temperature it rests at: measured once it is wine, else as planned. */
export const restTempOf = (c: ConflictContext): number =>
  phaseOf(c) === 'wine' && c.latest.temp !== undefined ? c.latest.temp : c.choices.maturationC

/** Alcohol measured, told, or to be expected from the fruit. */
export function alcoholPctOf(c: ConflictContext): number | undefined {
  const told = c.latest.alcohol ?? c.potentialAlcoholPctVol
  if (told !== undefined) return told
  // 400 g/L is as far as the convention goes; more alcohol than that no yeast makes.
  return brixInRange(c.fruit.brix)
    ? potentialAlcoholPctVol(Math.min(400, Math.max(0, sugarOfBrix(c.fruit.brix))))
    : undefined
}

/** What the sugar formulas take. */
const brixInRange = (brix: number): boolean => brix >= 5 && brix <= 45
