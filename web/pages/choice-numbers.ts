import type { ChoiceKey, Choices } from '../../api/protocol/choices.ts'

export interface NumberAnswer {
  readonly label: string
  readonly unit: string
  readonly min: number
  readonly max: number
  readonly step: number
  /** Temperatures follow the cellar's units; shares are shown as per cent. */
  readonly as?: 'temp' | 'share'
  /** Asked only where another answer makes it matter. */
  readonly when?: (choices: Choices) => boolean
}

/** The numbers among the choices, with the limits of the schema in api/protocol/choices.ts; a test holds the two together. */
export const NUMBER_ANSWERS: Readonly<Partial<Record<ChoiceKey, NumberAnswer>>> = {
  pickHour: { label: 'Start hour', unit: 'h', min: 0, max: 23, step: 1 },
  pickPasses: { label: 'Passes', unit: '', min: 1, max: 6, step: 1 },
  fruitCoolToC: {
    label: 'Cool to',
    unit: '°C',
    min: 4,
    max: 16,
    step: 1,
    as: 'temp',
    when: (c) => c.fruitCooling !== 'none',
  },
  so2CrushMgPerL: { label: 'SO2', unit: 'mg/L', min: 0, max: 80, step: 5 },
  skinContactH: { label: 'Hours', unit: 'h', min: 0, max: 72, step: 1 },
  skinContactC: { label: 'At', unit: '°C', min: 4, max: 20, step: 1, as: 'temp', when: (c) => c.skinContactH > 0 },
  skinFermentDays: { label: 'Days', unit: 'days', min: 0, max: 240, step: 1 },
  clarityNtu: { label: 'Target', unit: 'NTU', min: 20, max: 400, step: 10, when: (c) => c.clarification !== 'none' },
  settleH: {
    label: 'Settle for',
    unit: 'h',
    min: 0,
    max: 48,
    step: 1,
    when: (c) => c.clarification.endsWith('settle'),
  },
  yeastGPerHL: { label: 'Rate', unit: 'g/hL', min: 10, max: 60, step: 5, when: (c) => c.yeast !== 'ambient' },
  fermentTempC: { label: 'Set point', unit: '°C', min: 8, max: 30, step: 0.5, as: 'temp' },
  fermentEndTempC: { label: 'At the end', unit: '°C', min: 8, max: 30, step: 0.5, as: 'temp' },
  nutrientTargetMgPerL: { label: 'Raise nitrogen to (0: none)', unit: 'mg/L', min: 0, max: 350, step: 10 },
  stopSugarGPerL: {
    label: 'Sugar that stays',
    unit: 'g/L',
    min: 4,
    max: 150,
    step: 1,
    when: (c) => c.endPoint === 'stop' || c.endPoint === 'dry-then-sweeten',
  },
  malolacticShare: {
    label: 'Share that goes through',
    unit: '%',
    min: 0,
    max: 1,
    step: 0.05,
    as: 'share',
    when: (c) => c.malolactic === 'partial',
  },
  fineLeesMonths: { label: 'Months', unit: 'months', min: 0, max: 24, step: 1 },
  stirringWeeklyFor: {
    label: 'Weekly for',
    unit: 'weeks',
    min: 0,
    max: 52,
    step: 1,
    when: (c) => c.stirring === 'weekly',
  },
  oakNewShare: { label: 'New wood', unit: '%', min: 0, max: 1, step: 0.05, as: 'share', when: (c) => c.oak === 'new' },
  oakPiecesGPerL: { label: 'Pieces', unit: 'g/L', min: 0.1, max: 10, step: 0.1, when: (c) => c.oak === 'pieces' },
  molecularSo2MgPerL: {
    label: 'Molecular SO2',
    unit: 'mg/L',
    min: 0,
    max: 2,
    step: 0.1,
    when: (c) => c.firstSo2 !== 'never',
  },
  maturationC: { label: 'Store at', unit: '°C', min: -2, max: 24, step: 1, as: 'temp' },
}

/** Labels of the answers that come from a list, where one choice asks for more than one. */
export const LIST_LABELS: Readonly<Partial<Record<ChoiceKey, string>>> = {
  proteinStability: 'Protein',
  tartrateStability: 'Tartrate',
  claims: 'The label will claim',
}

export const FLAG_LABELS: Readonly<Partial<Record<ChoiceKey, string>>> = {
  expectsOakAroma: 'I expect oak aroma',
  expectsSlowOxygen: 'I expect slow oxygen',
}
