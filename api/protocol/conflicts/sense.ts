import type { ConflictRule } from '../types.ts'
import { CUSTOM } from './known.ts'

/** Answers that do not go together, each sensible alone. Common practice; they warn before the plan has to guess. */
export const SENSE_RULES: readonly ConflictRule[] = [
  {
    id: 'H01',
    level: 'warn',
    test: (c) => {
      const parts = c.choices.vesselParts
      return parts !== undefined && Math.abs(parts.reduce((sum, part) => sum + part.share, 0) - 1) > 0.005
    },
    when: 'the shares of the vessels do not add up to the whole lot',
    reason: 'Litres without a vessel, or promised twice, cannot be planned.',
    wayOut: 'Let the shares add up to 100 %.',
    fields: ['vesselParts'],
    firstStep: 'rack-juice',
    basis: CUSTOM,
  },
  {
    id: 'H02',
    level: 'warn',
    test: (c) => c.choices.endPoint === 'stop' && c.choices.stopSugarGPerL === undefined,
    when: 'a stop without the sugar to stop at',
    reason: 'The watch and the chill are timed by the sugar that shall stay.',
    wayOut: 'Say how many g/L stay.',
    fields: ['endPoint', 'stopSugarGPerL'],
    firstStep: 'watch-stop',
    basis: CUSTOM,
  },
  {
    id: 'H03',
    level: 'warn',
    test: (c) => c.choices.fruitCooling === 'must-chiller' && c.choices.processing === 'whole-bunch',
    when: 'a must chiller for whole bunches',
    reason: 'The must chiller cools what is pumped, and whole bunches go into the press as they are.',
    wayOut: 'The cold room, dry ice, or chill the juice.',
    fields: ['fruitCooling', 'processing'],
    firstStep: 'receive',
    basis: CUSTOM,
  },
  {
    id: 'H04',
    level: 'warn',
    test: (c) =>
      c.choices.malolactic === 'partial' &&
      c.choices.malolacticShare === undefined &&
      !c.choices.vesselParts?.some((part) => part.malolactic !== undefined),
    when: 'partial malolactic without the share or the vessels that it means',
    reason: 'Nobody can declare it finished.',
    wayOut: 'Give the share, or say which vessels go through.',
    fields: ['malolactic', 'malolacticShare', 'vesselParts'],
    firstStep: 'mlf-done',
    basis: CUSTOM,
  },
  {
    id: 'H05',
    level: 'warn',
    test: (c) => (c.choices.processing === 'on-skins') !== c.choices.skinFermentDays > 0,
    when: 'fermented on skins without days on skins, or days on skins of pressed juice',
    reason: 'The one asks for cap work and a late press, the other for a press at once.',
    wayOut: 'Give the days, or choose another way into the press.',
    fields: ['processing', 'skinFermentDays'],
    firstStep: 'work-cap',
    basis: CUSTOM,
  },
  {
    id: 'H06',
    level: 'warn',
    test: (c) => c.choices.endPoint === 'dry-then-sweeten' && c.choices.filtration !== 'sterile',
    when: 'sweetened before bottling without a sterile filter',
    reason: 'Sugar put back is food for every yeast left in the wine.',
    wayOut: 'Sterile membrane.',
    fields: ['endPoint', 'filtration'],
    firstStep: 'sweeten',
    basis: CUSTOM,
  },
]
