import type { ConflictContext, ConflictRule } from '../types.ts'
import { alcoholPctOf, CUSTOM, partly, source } from './known.ts'

/** Share that a claimed variety, vintage or place needs where the cellar has not set its own (S22; 75 and 95 % elsewhere). */
const CLAIM_SHARE = 0.85

/** What the wine becomes: base wine, stable wine, a label. */
export const FINISH_CONFLICTS: readonly ConflictRule[] = [
  {
    id: 'K25',
    level: 'block',
    test: (c) =>
      c.choices.finish === 'tirage' &&
      ((c.latest['free-so2'] ?? 0) > 15 || c.ascorbicUsed === true || c.sorbicUsed === true),
    when: 'base wine for tirage with more than 15 mg/L free SO2, or with ascorbic or sorbic acid',
    reason: 'The second ferment will not start and these additions are not allowed in base wine.',
    wayOut: 'Low SO2, no ascorbic acid.',
    fields: ['finish', 'molecularSo2MgPerL'],
    firstStep: 'release',
    basis: source('S9', 'S67'),
  },
  {
    id: 'K26',
    level: 'warn',
    test: (c) => c.choices.finish === 'tirage' && (alcoholPctOf(c) ?? 0) > 11.5,
    when: 'base wine for tirage that reaches more than 11.5 % vol',
    reason: 'Tirage adds about 1.3 % and the yeast suffers above 12.',
    wayOut: 'Pick earlier.',
    fields: ['finish'],
    firstStep: 'book-pick',
    basis: source('S67'),
  },
  {
    id: 'K32',
    level: 'warn',
    test: (c) =>
      (c.choices.proteinStability === 'none' || c.choices.tartrateStability === 'none') &&
      c.choices.filtration === 'sterile' &&
      (c.marketLong ?? c.choices.finish === 'bottling'),
    when: 'no stabilisation, a sterile filter and a long way to the table',
    reason: 'Crystals and haze can form after the best filter.',
    wayOut: 'Test first.',
    fields: ['proteinStability', 'tartrateStability', 'filtration'],
    firstStep: 'filter-membrane',
    basis: source('S41'),
  },
  {
    id: 'K33',
    level: 'warn',
    test: (c) => c.bentoniteAfterAdditive === true,
    when: 'bentonite after a stabilising additive or lysozyme',
    reason: 'They react and cloud.',
    wayOut: 'Bentonite first, heat test again.',
    fields: ['proteinStability', 'tartrateStability'],
    firstStep: 'fine-bentonite',
    basis: CUSTOM,
  },
  {
    id: 'K37',
    level: 'warn',
    test: shareBroken,
    when: 'the label claims a variety, vintage or place whose share topping or blending has broken',
    reason: 'Topping from other lots counts in the share.',
    wayOut: 'Top with the same lot or keep the sum.',
    fields: ['claims'],
    firstStep: 'top-barrels',
    basis: partly('85 % read; shares of 75 and 95 % are from memory, verify', 'S5', 'S22'),
  },
  {
    id: 'K38',
    level: 'warn',
    test: (c) => c.choices.claims.includes('white-wine-with-maceration') && daysOnSkins(c) < 30,
    when: 'white wine with maceration claimed with less than 30 days on skins',
    reason: 'The OIV definition asks for one month at least.',
    wayOut: 'Longer, or no claim.',
    fields: ['claims', 'skinFermentDays', 'vesselParts'],
    firstStep: 'press-skins',
    basis: source('S3'),
  },
]

function shareBroken(c: ConflictContext): boolean {
  const limit = c.shareLimit ?? CLAIM_SHARE
  return (['variety', 'vintage', 'place'] as const).some((claim) => {
    const share = c.composition?.[claim]
    return c.choices.claims.includes(claim) && share !== undefined && share < limit
  })
}

/** The part with the shortest time decides: the claim is for the whole lot. */
function daysOnSkins(c: ConflictContext): number {
  const parts = c.choices.vesselParts ?? []
  return Math.min(c.choices.skinFermentDays, ...parts.map((part) => part.skinFermentDays ?? c.choices.skinFermentDays))
}
