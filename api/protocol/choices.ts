import { z } from 'zod'

/** Styles fill in defaults only; every answer stays free. */
export const STYLES = ['crisp', 'textured', 'offdry', 'sparkling', 'orange', 'neutral', 'sweet'] as const
export type Style = (typeof STYLES)[number]

export const VESSEL_CHOICES = [
  'jacketed-tank',
  'pressure-tank',
  'unjacketed-tank',
  'new-barrel',
  'used-barrel',
  'puncheon',
  'cask',
  'concrete',
  'amphora',
  'open-tank',
] as const
export type VesselChoice = (typeof VESSEL_CHOICES)[number]

/** A lot may ferment in several kinds of vessel at once; shares add up to 1. */
export const vesselPart = z.object({
  vessel: z.enum(VESSEL_CHOICES),
  share: z.number().gt(0).max(1),
  /** Days on skins of this part, where it differs from the lot's. */
  skinFermentDays: z.number().int().min(0).max(240).optional(),
  /** Malolactic in this part only. */
  malolactic: z.boolean().optional(),
})

/**
 * What a winemaker chooses for one lot: 25 choices; some carry their number beside the kind.
 * Ranges: practice table of choices (common practice unless a source is named in choice-notes).
 */
export const choices = z.object({
  style: z.enum(STYLES),
  /** 1 Picking */
  pickMode: z.enum(['hand', 'machine']),
  pickHour: z.number().int().min(0).max(23),
  pickPasses: z.number().int().min(1).max(6).default(1),
  /** 2 Fruit cooling */
  fruitCooling: z.enum(['none', 'cold-room', 'must-chiller', 'dry-ice']),
  fruitCoolToC: z.number().min(4).max(16).default(10),
  /** 3 Fruit processing */
  processing: z.enum(['whole-bunch', 'destem', 'destem-crush', 'on-skins']),
  /** 4 Oxygen in juice */
  juiceOxygen: z.enum(['protective', 'moderate', 'oxidative']),
  /** 5 SO2 at crush or press */
  so2CrushMgPerL: z.number().min(0).max(80),
  /** 6 Skin contact before pressing */
  skinContactH: z.number().min(0).max(72),
  skinContactC: z.number().min(4).max(20).default(8),
  /** 7 Days on skins in fermentation */
  skinFermentDays: z.number().int().min(0).max(240),
  /** 8 Press program */
  pressProgram: z.enum(['short', 'standard', 'whole-bunch-gentle', 'sparkling-fractions', 'long-slow', 'basket']),
  /** 9 Press fractions */
  fractions: z.union([z.literal(1), z.literal(2), z.literal(3)]),
  /** 10 Juice clarification */
  clarification: z.enum(['none', 'short-settle', 'cold-settle', 'flotation', 'centrifuge']),
  clarityNtu: z.number().min(20).max(400).default(100),
  settleH: z.number().min(0).max(48).optional(),
  /** 11 Fermenting vessel */
  vessel: z.enum(VESSEL_CHOICES),
  vesselParts: z.array(vesselPart).min(2).max(6).optional(),
  /** 12 Yeast */
  yeast: z.enum(['selected', 'ambient', 'vineyard-starter', 'non-saccharomyces']),
  yeastGPerHL: z.number().min(10).max(60).default(25),
  /** 13 Fermentation temperature */
  fermentTempC: z.number().min(8).max(30),
  fermentEndTempC: z.number().min(8).max(30).optional(),
  /** 14 Nutrients: raise yeast-assimilable nitrogen to this; 0 = none */
  nutrientTargetMgPerL: z.number().min(0).max(350),
  /** 15 End of fermentation */
  endPoint: z.enum(['dry', 'stop', 'by-itself', 'dry-then-sweeten']),
  stopSugarGPerL: z.number().min(4).max(150).optional(),
  /** 16 Malolactic */
  malolactic: z.enum(['refuse', 'allow', 'after', 'co', 'partial']),
  malolacticShare: z.number().min(0).max(1).optional(),
  /** 17 Gross lees */
  grossLees: z.enum(['within-3-days', 'within-10-days', 'keep', 'with-pressing']),
  /** 18 Time on fine lees */
  fineLeesMonths: z.number().min(0).max(24),
  /** 19 Stirring */
  stirring: z.enum(['none', 'weekly', 'two-weekly', 'monthly', 'by-taste']),
  stirringWeeklyFor: z.number().int().min(0).max(52).default(8),
  /** 20 Oak */
  oak: z.enum(['none', 'new', 'used', 'cask', 'pieces']),
  oakNewShare: z.number().min(0).max(1).optional(),
  oakPiecesGPerL: z.number().min(0.1).max(10).optional(),
  expectsOakAroma: z.boolean().default(false),
  expectsSlowOxygen: z.boolean().default(false),
  /** 21 First SO2 after fermentation */
  firstSo2: z.enum(['at-once', 'after-dry', 'after-malolactic', 'after-pressing', 'never']),
  molecularSo2MgPerL: z.number().min(0).max(2).default(0.8),
  /** 22 Storage temperature */
  maturationC: z.number().min(-2).max(24),
  /** 23 Stabilisation */
  proteinStability: z.enum(['by-test', 'none']),
  tartrateStability: z.enum(['none', 'cold', 'seeded-cold', 'additive', 'electrodialysis']),
  /** 24 Filtration */
  filtration: z.enum(['none', 'polish', 'sterile']),
  /** 25 Finish */
  finish: z.enum(['bottling', 'tirage', 'bulk', 'blend']),
  /** A day, ISO 8601 YYYY-MM-DD. Absent: no date booked. */
  finishOn: z.iso.date().optional(),
  /** What the label will claim; conflicts K37 and K38 test it. */
  claims: z.array(z.enum(['variety', 'vintage', 'place', 'white-wine-with-maceration'])).default([]),
})

export type Choices = z.infer<typeof choices>
export type ChoiceKey = keyof Choices
