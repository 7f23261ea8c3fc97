import { z } from '@hono/zod-openapi'
import { coldTempC } from '../cellar/cold.ts'
import { dryAt } from '../cellar/ending.ts'
import { plausible, READING_BOUNDS } from '../cellar/plausible.ts'
import { FIGURE_TOPICS, REFERENCE_FIGURES } from '../cellar/reference-figures.ts'
import { turbidityAdvice } from '../cellar/settling.ts'
import { calculation, figure, num, pick } from './calculation.ts'

const check = calculation({
  name: 'plausible-reading',
  title: 'Is a reading believable',
  topic: 'readings',
  source: 'Common practice',
  status: 'common-practice',
  input: z.object({
    kind: pick('Kind of reading', Object.keys(READING_BOUNDS) as [string, ...string[]], 'brix'),
    value: num('The reading', 'its own', -100, 1_000_000, 14),
    earlierValue: num('The one before', 'its own', -100, 1_000_000, 18).optional(),
    hoursAgo: num('Hours between', 'h', 0, 10_000, 6).default(12),
  }),
  output: z.object({ verdict: z.enum(['fine', 'again', 'refused']), words: z.string() }),
  run: (i) => {
    const earlier = i.earlierValue === undefined ? undefined : { value: i.earlierValue, hoursAgo: i.hoursAgo }
    const found = plausible(i.kind, i.value, earlier)
    return { result: found, steps: found.words === '' ? ['fine'] : [found.words] }
  },
})

const dry = calculation({
  name: 'dry',
  title: 'Is it dry',
  topic: 'readings',
  source: 'Two readings under the limit 24 h apart; 4 g/L (trade magazine, mid-winter check-in 2024/25)',
  status: 'common-practice',
  input: z.object({
    readings: z
      .array(z.object({ hour: num('When', 'h', 0, 20_000, 300), value: num('Sugar left', 'g/L', -10, 400, 2) }))
      .max(500),
    limitGPerL: num('Dry means', 'g/L', 0.1, 20, 4).default(4),
  }),
  output: z.object({ dry: z.boolean(), atHour: figure('Since', 'h').optional(), why: z.string() }),
  run: (i) => {
    const found = dryAt(i.readings, i.limitGPerL)
    const why = found.ok ? 'two readings under the limit' : found.why
    return { result: { dry: found.ok, atHour: found.ok ? found.value : undefined, why }, steps: [why] }
  },
})

const turbidity = calculation({
  name: 'turbidity',
  title: 'Juice turbidity before the ferment',
  topic: 'readings',
  source: 'WINETECH 2021 50-150 NTU; Nicolini 2011 about 100; 100-250 from memory',
  status: 'source',
  input: z.object({ ntu: num('Turbidity', 'NTU', 0, 5000, 120) }),
  output: z.object({ level: z.enum(['clear', 'good', 'cloudy']), words: z.string() }),
  run: (i) => ({ result: turbidityAdvice(i.ntu), steps: [turbidityAdvice(i.ntu).words] }),
})

const cold = calculation({
  name: 'cold-stabilisation',
  title: 'Temperature of cold stabilisation',
  topic: 'readings',
  source: '-(alcohol - 1) / 2, from memory; 10 days at -4 C (Handbook of Enology vol. 2, as quoted)',
  status: 'memory',
  input: z.object({ alcoholPctVol: num('Alcohol', '% vol', 8, 17, 12) }),
  output: z.object({ tempC: figure('Cold aimed at', 'C') }),
  run: (i) => ({
    result: { tempC: coldTempC(i.alcoholPctVol) },
    steps: [`-(${i.alcoholPctVol} - 1) / 2 = ${coldTempC(i.alcoholPctVol)} C`],
  }),
})

const figures = calculation({
  name: 'reference-figures',
  title: 'Limits and measured figures, each with its source',
  topic: 'readings',
  source: 'Named beside each figure; laws change: check your own rules',
  status: 'source',
  input: z.object({ topic: pick('Topic', FIGURE_TOPICS, 'additions') }),
  output: z.object({
    figures: z.array(
      z.object({
        what: z.string(),
        value: z.number(),
        high: z.number().optional(),
        unit: z.string(),
        source: z.string(),
        memory: z.boolean(),
      }),
    ),
  }),
  run: ({ topic }) => {
    const found = REFERENCE_FIGURES.filter((f) => f.topic === topic)
    return {
      result: { figures: found.map(({ topic: _, ...rest }) => rest) },
      steps: found.map(
        (f) =>
          `${f.what}: ${f.value}${f.high === undefined ? '' : `-${f.high}`} ${f.unit} (${f.source}${f.memory ? ', from memory, verify' : ''})`,
      ),
    }
  },
})

export const readingCalculations = [check, dry, turbidity, cold, figures]
