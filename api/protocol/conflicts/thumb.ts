import type { ConflictRule } from '../types.ts'
import { CUSTOM, fermentTempOf, inWood, malolacticAhead, restsInWood, restTempOf } from './known.ts'

/** Hints of the trade. Common practice without a source: they inform and never refuse. */
export const THUMB_RULES: readonly ConflictRule[] = [
  {
    id: 'R01',
    level: 'info',
    test: (c) => fermentTempOf(c) < 12 || fermentTempOf(c) > 22,
    when: 'fermentation outside 12-22 C',
    reason:
      'White fermentations generally run at 12-22 C, cooler than reds: too warm drives off fruit aroma, too cold is slow and may stick. Ferments on skins and very cool aromatic ones are the known exceptions.',
    wayOut: 'Keep it when it is meant; else set 12-22 C.',
    fields: ['fermentTempC'],
    firstStep: 'set-cooling',
    basis: CUSTOM,
  },
  {
    id: 'R02',
    level: 'info',
    test: (c) => c.choices.skinContactH > 0 && (c.choices.skinContactC > 12 || c.choices.skinContactH > 24),
    when: 'skin contact warmer than 12 C or longer than 24 h',
    reason: 'Skin contact is short, cool and before fermentation: flavour and texture for time and cost.',
    wayOut: '2-24 h at 5-12 C.',
    fields: ['skinContactH', 'skinContactC'],
    firstStep: 'macerate-cold',
    basis: CUSTOM,
  },
  {
    id: 'R03',
    level: 'info',
    test: (c) =>
      c.choices.expectsOakAroma && !restsInWood(c.choices) && !inWood(c.choices) && c.choices.oak !== 'pieces',
    when: 'oak aroma expected without oak',
    reason: 'Stainless steel is inert; pieces in a tank give some oak flavour for less money than barrels.',
    wayOut: 'Barrels or pieces, or expect none.',
    fields: ['oak', 'vessel', 'expectsOakAroma'],
    basis: CUSTOM,
  },
  {
    id: 'R04',
    level: 'info',
    test: (c) => c.choices.yeast === 'ambient',
    when: 'ambient yeast',
    reason: 'Ambient yeast adds complexity and risk: it starts later and its dates are less sure.',
    wayOut: 'Read every date after it as a wide forecast, or pitch selected yeast.',
    fields: ['yeast'],
    firstStep: 'watch-start',
    basis: CUSTOM,
  },
  {
    id: 'R06',
    level: 'info',
    test: (c) => malolacticAhead(c) && restTempOf(c) >= 15 && restTempOf(c) < 18,
    when: 'malolactic wanted at 15-18 C',
    reason: 'Malolactic wants a warm wine free of SO2; below 18 C it is slow.',
    wayOut: 'Hold at 18-20 C until malic is gone.',
    fields: ['malolactic', 'maturationC'],
    firstStep: 'mlf-warm',
    basis: CUSTOM,
  },
  {
    id: 'R07',
    level: 'info',
    test: (c) => c.choices.grossLees === 'keep',
    when: 'gross lees kept',
    reason: 'Gross lees usually come off after fermentation; kept on purpose, no rack-off is planned.',
    wayOut: 'Rack within 3 or 10 days, or keep them and smell every week.',
    fields: ['grossLees'],
    firstStep: 'taste-all',
    basis: CUSTOM,
  },
]
