import type { ChoiceKey, Choices, Style } from './choices.ts'

/** What a style fills in before anybody answers; every answer stays free. Common practice throughout. */
export const defaultsFor = (style: Style): Choices => ({ ...USUAL, ...BY_STYLE[style], style })

export interface Difference {
  readonly key: ChoiceKey
  readonly chosen: Choices[ChoiceKey]
  readonly usual: Choices[ChoiceKey]
}

/** Where the answers leave the style's own, in the order of the choices. */
export function differences(choices: Choices, defaults: Choices): readonly Difference[] {
  const keys = new Set([...Object.keys(defaults), ...Object.keys(choices)]) as Set<ChoiceKey>
  return [...keys]
    .filter((key) => JSON.stringify(choices[key]) !== JSON.stringify(defaults[key]))
    .map((key) => ({ key, chosen: choices[key], usual: defaults[key] }))
}

/** The month a style is usually ready for, southern hemisphere; the north adds six. The year counts from the vintage. */
export const READY_IN: Readonly<Record<Style, { readonly month: number; readonly yearsAfter: 0 | 1 }>> = {
  crisp: { month: 8, yearsAfter: 0 },
  textured: { month: 2, yearsAfter: 1 },
  offdry: { month: 8, yearsAfter: 0 },
  sparkling: { month: 9, yearsAfter: 0 },
  orange: { month: 2, yearsAfter: 1 },
  neutral: { month: 7, yearsAfter: 0 },
  sweet: { month: 10, yearsAfter: 1 },
}

/** The answers most styles share: a clean, cool, dry tank ferment without malolactic. */
const USUAL: Omit<Choices, 'style'> = {
  pickMode: 'hand',
  pickHour: 6,
  pickPasses: 1,
  fruitCooling: 'none',
  fruitCoolToC: 10,
  processing: 'whole-bunch',
  juiceOxygen: 'moderate',
  so2CrushMgPerL: 50,
  skinContactH: 0,
  skinContactC: 8,
  skinFermentDays: 0,
  pressProgram: 'standard',
  fractions: 2,
  clarification: 'cold-settle',
  clarityNtu: 100,
  vessel: 'jacketed-tank',
  yeast: 'selected',
  yeastGPerHL: 25,
  fermentTempC: 15,
  nutrientTargetMgPerL: 200,
  endPoint: 'dry',
  malolactic: 'refuse',
  grossLees: 'within-3-days',
  fineLeesMonths: 2,
  stirring: 'none',
  stirringWeeklyFor: 8,
  oak: 'none',
  expectsOakAroma: false,
  expectsSlowOxygen: false,
  firstSo2: 'after-dry',
  molecularSo2MgPerL: 0.8,
  maturationC: 10,
  proteinStability: 'by-test',
  tartrateStability: 'cold',
  filtration: 'sterile',
  finish: 'bottling',
  claims: [],
}

const BY_STYLE: Readonly<Record<Style, Partial<Choices>>> = {
  crisp: {
    pickMode: 'machine',
    pickHour: 2,
    fruitCooling: 'must-chiller',
    processing: 'destem-crush',
    juiceOxygen: 'protective',
    clarityNtu: 80,
    fermentTempC: 13,
    fermentEndTempC: 15,
  },
  textured: {
    fruitCooling: 'cold-room',
    so2CrushMgPerL: 20,
    pressProgram: 'whole-bunch-gentle',
    fractions: 1,
    clarification: 'short-settle',
    clarityNtu: 200,
    vessel: 'used-barrel',
    vesselParts: [
      { vessel: 'used-barrel', share: 0.7 },
      { vessel: 'new-barrel', share: 0.3 },
    ],
    yeast: 'ambient',
    fermentTempC: 20,
    nutrientTargetMgPerL: 150,
    malolactic: 'after',
    grossLees: 'keep',
    fineLeesMonths: 9,
    stirring: 'weekly',
    oak: 'new',
    oakNewShare: 0.3,
    expectsOakAroma: true,
    expectsSlowOxygen: true,
    firstSo2: 'after-malolactic',
    // 12 to 16 C is usual; below 15 C the malolactic this style waits for would stand still (K02).
    maturationC: 15,
    filtration: 'polish',
  },
  offdry: {
    fruitCooling: 'cold-room',
    juiceOxygen: 'protective',
    pressProgram: 'whole-bunch-gentle',
    vessel: 'pressure-tank',
    fermentTempC: 14,
    endPoint: 'stop',
    stopSugarGPerL: 20,
    firstSo2: 'at-once',
    maturationC: 5,
  },
  sparkling: {
    pressProgram: 'sparkling-fractions',
    nutrientTargetMgPerL: 150,
    grossLees: 'within-10-days',
    fineLeesMonths: 4,
    // Low: the second ferment has to start (K25).
    molecularSo2MgPerL: 0.5,
    filtration: 'polish',
    finish: 'tirage',
  },
  orange: {
    processing: 'on-skins',
    so2CrushMgPerL: 0,
    skinFermentDays: 45,
    pressProgram: 'basket',
    clarification: 'none',
    vessel: 'amphora',
    yeast: 'ambient',
    fermentTempC: 22,
    nutrientTargetMgPerL: 0,
    malolactic: 'allow',
    grossLees: 'with-pressing',
    fineLeesMonths: 4,
    firstSo2: 'after-pressing',
    maturationC: 15,
    proteinStability: 'none',
    tartrateStability: 'none',
    filtration: 'none',
  },
  neutral: {
    pickMode: 'machine',
    pickHour: 2,
    processing: 'destem-crush',
    so2CrushMgPerL: 40,
    fractions: 1,
    clarification: 'flotation',
    clarityNtu: 120,
    fermentTempC: 16,
    nutrientTargetMgPerL: 150,
    grossLees: 'within-10-days',
    fineLeesMonths: 1,
    maturationC: 14,
  },
  sweet: {
    pickHour: 9,
    pickPasses: 2,
    so2CrushMgPerL: 60,
    pressProgram: 'long-slow',
    fractions: 1,
    clarityNtu: 200,
    // Used barrels are the custom, but nothing in wood can be stopped (K09): it ferments under a jacket and rests in wood.
    vessel: 'jacketed-tank',
    yeastGPerHL: 50,
    fermentTempC: 18,
    nutrientTargetMgPerL: 250,
    endPoint: 'stop',
    stopSugarGPerL: 110,
    grossLees: 'within-10-days',
    fineLeesMonths: 12,
    oak: 'used',
    firstSo2: 'at-once',
  },
}
