import type { ConflictRule } from '../types.ts'
import { malolacticAhead, malolacticFinished, partly, pHOf, restsInWood, restTempOf, source } from './known.ts'

/** Three weeks on skins: the short end of a malolactic of 3 to 10 weeks at 18 to 20 C (table of choices, common practice). */
const MALOLACTIC_MIN_DAYS = 21

/** Malolactic wanted or refused against what else was chosen. */
export const MALOLACTIC_CONFLICTS: readonly ConflictRule[] = [
  {
    id: 'K01',
    level: 'block',
    // A later measurement counts too: a total above the limit holds the bacteria back wherever it came from.
    test: (c) => malolacticAhead(c) && Math.max(c.choices.so2CrushMgPerL, c.latest['total-so2'] ?? 0) > 60,
    when: 'malolactic is wanted and SO2 at crush, or total SO2 measured, is above 60 mg/L',
    reason:
      'Bacteria stall above roughly 30-40 mg/L total and 10 mg/L free at wine pH, so a heavy dose at crush may hold malolactic for months.',
    wayOut: 'Lower SO2 to 50 mg/L or less, or refuse malolactic.',
    fields: ['malolactic', 'so2CrushMgPerL'],
    firstStep: 'dose-so2-fruit',
    basis: source('S23'),
  },
  {
    id: 'K02',
    level: 'block',
    test: (c) => malolacticAhead(c) && restTempOf(c) < 15,
    when: 'malolactic is wanted and the wine rests below 15 C before malic is under 0.1 g/L',
    reason: 'Below about 15 C the bacteria hardly work, so the wine waits without SO2 and can spoil.',
    wayOut: 'Hold at 18-20 C until malic is gone, then cool.',
    fields: ['malolactic', 'maturationC'],
    firstStep: 'mlf-warm',
    basis: source('S26', 'S24'),
  },
  {
    id: 'K03',
    level: 'warn',
    test: (c) => malolacticAhead(c) && pHOf(c) < 3.1,
    when: 'malolactic is wanted and pH is below 3.1',
    reason: 'Each hard factor adds up and near pH 3.0 bacteria stop.',
    wayOut: 'Tolerant culture, warmth, co-inoculation, or refuse malolactic.',
    fields: ['malolactic'],
    firstStep: 'mlf-inoculate',
    basis: source('S23', 'S24'),
  },
  {
    id: 'K04',
    level: 'block',
    test: (c) => {
      const first = c.choices.firstSo2
      const early =
        first === 'at-once' ||
        first === 'after-dry' ||
        (first === 'after-pressing' && c.choices.skinFermentDays < MALOLACTIC_MIN_DAYS)
      return malolacticAhead(c) && early
    },
    when: 'malolactic is wanted and the first SO2 comes before it is done',
    reason: 'Free SO2 after fermentation is the usual way to prevent malolactic.',
    wayOut: 'Move the first SO2 after malic is under 0.1 g/L.',
    fields: ['malolactic', 'firstSo2'],
    firstStep: 'post-so2',
    basis: source('S23', 'S48'),
  },
  {
    id: 'K05',
    level: 'warn',
    test: (c) =>
      c.choices.malolactic === 'refuse' &&
      (c.choices.stirring !== 'none' || restTempOf(c) > 14) &&
      (c.choices.molecularSo2MgPerL < 0.6 || c.choices.firstSo2 === 'never'),
    when: 'malolactic is refused, the wine is stirred or rests above 14 C, and molecular SO2 is below 0.6 mg/L',
    reason: 'Warm wine on lees with little SO2 is what bacteria like, so malolactic will come on its own.',
    wayOut: 'Cool below 12 C, hold 0.8 mg/L molecular, measure malic monthly.',
    fields: ['malolactic', 'stirring', 'maturationC', 'molecularSo2MgPerL'],
    firstStep: 'mlf-block',
    basis: source('S47', 'S26'),
  },
  {
    id: 'K12',
    level: 'warn',
    test: (c) => c.choices.endPoint === 'stop' && malolacticAhead(c),
    when: 'fermentation is stopped with sugar left and malolactic is wanted',
    reason: 'Bacteria make acetic acid from sugar, and the SO2 of the stop blocks them.',
    wayOut: 'Refuse malolactic.',
    fields: ['endPoint', 'malolactic'],
    firstStep: 'stop-so2',
    basis: partly('volatile acidity read; the rest is common practice', 'S66'),
  },
  {
    id: 'K31',
    level: 'warn',
    test: (c) =>
      c.choices.firstSo2 === 'never' &&
      restsInWood(c.choices) &&
      c.choices.fineLeesMonths > 3 &&
      !malolacticFinished(c),
    when: 'no SO2 after fermentation, more than 3 months in wood, and malolactic unfinished',
    reason: 'Nothing holds bacteria and acetic acid back.',
    wayOut: 'Tight topping, cold, volatile acidity every month.',
    fields: ['firstSo2', 'fineLeesMonths', 'malolactic'],
    firstStep: 'top-barrels',
    basis: source('S66', 'S50'),
  },
]
