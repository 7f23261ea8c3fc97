import type { Choices, VesselChoice } from '../choices.ts'
import type { OptionNote } from './types.ts'

/**
 * What wood and other vessels are expected to do, as ranks for comparing, not as measures.
 * Direction only, common practice: the smaller and newer the wood the more aroma (S58 for size and age);
 * oxygen passes old wood as well as new; pieces bring aroma without oxygen (S7).
 */
export interface Effect {
  readonly label: string
  /** 0 none to 5 strong: vanilla, spice, smoke, tannin from wood. */
  readonly aroma: number
  /** 0 none to 3: slow oxygen through wall, bung or lid. */
  readonly oxygen: number
  /** 1 cheapest to 6 dearest, per litre of wine. */
  readonly cost: number
  readonly words: string
}

interface EffectTable {
  readonly vessel: Readonly<Record<VesselChoice, Effect>>
  readonly oak: Readonly<Record<Choices['oak'], Effect>>
}

export const EFFECTS: EffectTable = {
  vessel: {
    'jacketed-tank': {
      label: 'Jacketed tank',
      aroma: 0,
      oxygen: 0,
      cost: 2,
      words: 'Inert: the fruit alone. Chills, stops, holds its temperature.',
    },
    'pressure-tank': {
      label: 'Pressure tank',
      aroma: 0,
      oxygen: 0,
      cost: 3,
      words: 'Inert; keeps carbon dioxide and slows the yeast.',
    },
    'unjacketed-tank': {
      label: 'Tank without jacket',
      aroma: 0,
      oxygen: 0,
      cost: 1,
      words: 'Inert; follows the room and cannot be stopped.',
    },
    'new-barrel': {
      label: 'New barrel',
      aroma: 5,
      oxygen: 2,
      cost: 6,
      words:
        'Vanilla, spice and tannin, smoke with heavier toast; slow oxygen; ferments warmer. European oak is dearer and held finer than American.',
    },
    'used-barrel': {
      label: 'Used barrel',
      aroma: 2,
      oxygen: 2,
      cost: 4,
      words: 'Each fill gives less, in the end nothing; the oxygen stays until tartrate shuts the wood.',
    },
    puncheon: {
      label: 'Puncheon, 500 L',
      aroma: 1,
      oxygen: 1,
      cost: 4,
      words: 'Less wood for each litre than a barrel: less aroma, less topping.',
    },
    cask: {
      label: 'Cask above 1,000 L',
      aroma: 0,
      oxygen: 1,
      cost: 3,
      words: 'Slow oxygen and roundness; leaves aroma almost untouched. Must never stand dry.',
    },
    concrete: {
      label: 'Concrete',
      aroma: 0,
      oxygen: 1,
      cost: 3,
      words: 'Texture without oak; temperature moves slowly.',
    },
    amphora: {
      label: 'Clay amphora',
      aroma: 0,
      oxygen: 2,
      cost: 3,
      words: 'Texture and skins under seal, no oak; breathes unless lined.',
    },
    'open-tank': {
      label: 'Open tank',
      aroma: 0,
      oxygen: 3,
      cost: 1,
      words: 'For skins only: air at the cap, a lid as soon as it slows.',
    },
  },
  oak: {
    none: { label: 'None', aroma: 0, oxygen: 0, cost: 1, words: 'No wood.' },
    new: {
      label: 'New barrels',
      aroma: 5,
      oxygen: 2,
      cost: 5,
      words: 'Vanilla, spice, tannin, and slow oxygen; the dearest.',
    },
    used: {
      label: 'Used barrels only',
      aroma: 1,
      oxygen: 2,
      cost: 3,
      words: 'Oxygen, hardly any aroma after a few fills.',
    },
    cask: { label: 'Large old cask', aroma: 0, oxygen: 1, cost: 3, words: 'Slow oxygen, no aroma.' },
    pieces: {
      label: 'Oak pieces',
      aroma: 3,
      oxygen: 0,
      cost: 2,
      words: 'Aroma only, for less money than barrels; no slow oxygen.',
    },
  },
}

export const VESSEL_OPTIONS: readonly OptionNote[] = optionsOf(EFFECTS.vessel)
export const OAK_OPTIONS: readonly OptionNote[] = optionsOf(EFFECTS.oak)

/** Effects of what was chosen: each vessel in use, then the oak. */
export function effectsOf(choices: Pick<Choices, 'vessel' | 'vesselParts' | 'oak'>): readonly Effect[] {
  const vessels = choices.vesselParts?.map((part) => part.vessel) ?? [choices.vessel]
  return [...vessels.map((vessel) => EFFECTS.vessel[vessel]), EFFECTS.oak[choices.oak]]
}

function optionsOf(effects: Readonly<Record<string, Effect>>): readonly OptionNote[] {
  return Object.entries(effects).map(([value, effect]) => ({ value, label: effect.label, does: effect.words }))
}
