import type { ConflictRule } from '../types.ts'
import { CUSTOM, inBarrel, inWood, juiceNtuOf, malolacticFinished, newOakShare, source, vesselsOf } from './known.ts'

/** Lees, stirring and wood. */
export const LEES_OAK_CONFLICTS: readonly ConflictRule[] = [
  {
    id: 'K13',
    level: 'warn',
    test: (c) => c.choices.stirring !== 'none' && c.choices.grossLees === 'keep' && juiceNtuOf(c) > 150,
    when: 'stirring on gross lees kept from juice above 150 NTU',
    reason: 'Stirring heavy grape solids brings up sulphides and bitterness.',
    wayOut: 'Rack gross lees first, then stir fine lees.',
    fields: ['stirring', 'grossLees', 'clarityNtu'],
    firstStep: 'stir-lees',
    basis: source('S51', 'S55', 'S33'),
  },
  {
    id: 'K14',
    level: 'info',
    test: (c) =>
      c.choices.stirring !== 'none' && vesselsOf(c.choices).includes('jacketed-tank') && c.mixerInCellar !== true,
    when: 'stirring in a jacketed tank without a mixer',
    reason: 'In a tank the lees must be pumped or mixed; a rod does not reach.',
    wayOut: 'Book a pump or mixer.',
    fields: ['stirring', 'vessel'],
    firstStep: 'stir-lees',
    basis: source('S52'),
  },
  {
    id: 'K15',
    level: 'warn',
    test: (c) => {
      // Below 10 mg/L free after malolactic the stirring stops: the alarm of the stirring task.
      const free = c.latest['free-so2']
      const bare = malolacticFinished(c) && (c.choices.firstSo2 === 'never' || (free !== undefined && free < 10))
      return c.choices.stirring === 'weekly' && (c.vaRising === true || bare)
    },
    when: 'weekly stirring while volatile acidity rises, or without free SO2 after malolactic',
    reason: 'Every opening lets oxygen in, which acetic bacteria use.',
    wayOut: 'Roll the barrels closed, or stop.',
    fields: ['stirring', 'firstSo2'],
    firstStep: 'stir-lees',
    basis: source('S52', 'S66'),
  },
  {
    id: 'K16',
    level: 'block',
    test: (c) => c.choices.oak === 'pieces' && c.choices.expectsSlowOxygen && !inWood(c.choices),
    when: 'oak pieces and slow oxidation expected of them',
    reason: 'Oak pieces give wood compounds only; the slow oxygen comes from barrel walls and bungs.',
    wayOut: 'Barrels, or pieces with measured oxygen.',
    fields: ['oak', 'expectsSlowOxygen'],
    firstStep: 'oak-in',
    basis: source('S7', 'S58'),
  },
  {
    id: 'K17',
    level: 'block',
    test: (c) => {
      const { oak } = c.choices
      const bigWood = oak === 'cask' || (vesselsOf(c.choices).includes('cask') && oak !== 'new' && oak !== 'pieces')
      const oldWood = oak === 'used' && (c.barrelYears ?? 0) > 5
      return c.choices.expectsOakAroma && (bigWood || oldWood)
    },
    when: 'oak aroma expected of a cask above 570 L or of barrels more than 5 years old',
    reason: 'Big or old wood has little left to give per litre.',
    wayOut: 'Some new barrels, or pieces.',
    fields: ['oak', 'vessel', 'expectsOakAroma'],
    firstStep: 'fill-barrels',
    basis: source('S58'),
  },
  {
    id: 'K18',
    level: 'warn',
    test: (c) => (c.choices.style === 'crisp' || c.choices.style === 'offdry') && (newOakShare(c.choices) ?? 0) > 0.4,
    when: 'more than 40 % new oak in a crisp or off-dry style',
    reason: 'New oak hides the fruit that the other choices protect.',
    wayOut: 'None or used.',
    fields: ['oak', 'oakNewShare', 'vesselParts'],
    firstStep: 'fill-barrels',
    basis: CUSTOM,
  },
  {
    id: 'K19',
    level: 'warn',
    test: (c) =>
      c.choices.juiceOxygen === 'protective' &&
      inBarrel(c.choices) &&
      (newOakShare(c.choices) ?? 0) > 0 &&
      (c.thiolGoal ?? c.choices.style === 'crisp'),
    when: 'new barrels, protected juice and thiols as the goal',
    reason: 'Barrel oxygen and wood cover thiols.',
    wayOut: 'A tank.',
    fields: ['vessel', 'vesselParts', 'juiceOxygen'],
    firstStep: 'fill-barrels',
    basis: CUSTOM,
  },
]
