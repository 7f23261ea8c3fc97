import { ADDITIVE_LIMITS } from './additive-limits.ts'
import { COLD_DAYS_AT_MINUS_4, COLD_TEST, HEAT_TEST } from './cold.ts'
import { EXPOSURE_LIMITS, LIFT_CONSTANT_KG } from './exposure.ts'
import { YAN_MIN_WHITE_MG_PER_L } from './nutrient.ts'
import { TURBIDITY_RANGES } from './settling.ts'
import { SULPHITES_LABEL_MG_PER_L, TOTAL_SO2_TASTE_MG_PER_L } from './sulfur-limits.ts'
import { MEASURED_BARREL_OXYGEN } from './wood.ts'

export const FIGURE_TOPICS = ['additions', 'air', 'oak', 'settling', 'stability', 'sulfur'] as const
export type FigureTopic = (typeof FIGURE_TOPICS)[number]

/** A figure kept as it was read. `memory`: recalled, not read; verify before it becomes a rule. */
export interface ReferenceFigure {
  readonly topic: FigureTopic
  readonly what: string
  readonly value: number
  readonly high?: number
  readonly unit: string
  readonly source: string
  readonly memory: boolean
}

/** Every single figure of the folder that is no formula, for the bench sheet and the limits beside a dose. */
export const REFERENCE_FIGURES: readonly ReferenceFigure[] = [
  ...ADDITIVE_LIMITS.map((l) => ({
    topic: 'additions' as const,
    what: `${l.product}, at most`,
    value: l.limit,
    unit: l.unit,
    source: l.source,
    memory: l.memory,
  })),
  figure('additions', 'nitrogen of a low-risk white, at least', YAN_MIN_WHITE_MG_PER_L, 'mg N/L', 'AWRI, YAN page'),
  ...EXPOSURE_LIMITS.map((l) => ({
    topic: 'air' as const,
    what: `${l.substance}, ${l.kind}`,
    value: l.value,
    unit: l.unit,
    source: l.source,
    memory: l.memory,
  })),
  figure('air', 'load constant of lifting', LIFT_CONSTANT_KG, 'kg', 'NIOSH 94-110, as quoted'),
  ...MEASURED_BARREL_OXYGEN.map((m) => figure('oak', `oxygen, ${m.what}`, m.mgPerLPerYear, 'mg/L/year', m.source)),
  ...TURBIDITY_RANGES.map((r) => ({
    topic: 'settling' as const,
    what: 'juice turbidity before the ferment',
    value: r.low,
    high: r.high,
    unit: 'NTU',
    source: r.source,
    memory: r.memory,
  })),
  figure(
    'stability',
    'slow cold treatment at -4 C',
    COLD_DAYS_AT_MINUS_4,
    'days',
    'Handbook of Enology vol. 2, as quoted',
  ),
  figure('stability', `cold test at ${COLD_TEST.tempC} C`, COLD_TEST.hours, 'h', 'AWRI, stability analysis'),
  figure(
    'stability',
    `heat test at ${HEAT_TEST.tempC} C, haze under`,
    HEAT_TEST.passNtu,
    'NTU',
    'AWRI, heat stability',
  ),
  figure('sulfur', 'total that can be tasted, from', TOTAL_SO2_TASTE_MG_PER_L, 'mg/L', 'Practical Winery Jan/Feb 2009'),
  figure('sulfur', 'label "contains sulphites", above', SULPHITES_LABEL_MG_PER_L, 'mg/L', 'EU labelling', true),
]

function figure(
  topic: FigureTopic,
  what: string,
  value: number,
  unit: string,
  source: string,
  memory = false,
): ReferenceFigure {
  return { topic, what, value, unit, source, memory }
}
