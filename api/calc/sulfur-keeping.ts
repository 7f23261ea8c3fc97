import { z } from '@hono/zod-openapi'
import { freeSo2Ahead } from '../cellar/sulfur-decline.ts'
import { SO2_REGIMES, totalSo2Limit } from '../cellar/sulfur-limits.ts'
import { runningTotal } from '../cellar/sulfur-total.ts'
import { calculation, figure, fixed, freeSo2MgPerL, num, pick } from './calculation.ts'

const regime = pick('Rule book', SO2_REGIMES, 'eu')
const sugarGPerL = num('Glucose and fructose', 'g/L', 0, 300, 2)

const limits = calculation({
  name: 'so2-limit',
  title: 'Highest total SO2 by rule book',
  topic: 'sulfur',
  source: 'Reg. (EU) 2019/934, Reg. (EU) 203/2012, 27 CFR 4.22; OIV from memory. Check your own rules',
  status: 'source',
  input: z.object({
    regime,
    sugarGPerL,
  }),
  output: z.object({
    totalMgPerL: figure('Highest total', 'mg/L'),
    source: z.string(),
    printed: z.string(),
    memory: z.boolean(),
  }),
  run: (i) => {
    const limit = totalSo2Limit(i.regime, i.sugarGPerL)
    return {
      result: { totalMgPerL: limit.totalMgPerL, source: limit.source, printed: limit.printed, memory: limit.memory },
      steps: [`${i.regime}, ${i.sugarGPerL} g/L sugar: ${limit.totalMgPerL} mg/L`],
      warnings: [limit.note],
    }
  },
})

const ahead = calculation({
  name: 'so2-ahead',
  title: 'Free SO2 at the next check',
  topic: 'sulfur',
  source: '4.0 mg SO2 per mg oxygen at most (stoichiometry); half of it taken, slow binding: common practice',
  status: 'common-practice',
  input: z.object({
    freeSo2MgPerL,
    days: num('Days ahead', 'd', 0, 730, 30),
    oxygenMgPerLPerYear: num('Oxygen the vessel lets in: 0.5 tank, 10-20 barrel', 'mg/L/year', 0, 60, 13),
  }),
  output: z.object({ likelyMgPerL: figure('Likely', 'mg/L'), lowestMgPerL: figure('At the lowest', 'mg/L') }),
  run: (i) => {
    const found = freeSo2Ahead(i.freeSo2MgPerL, i.days, i.oxygenMgPerLPerYear)
    return {
      result: { ...found },
      steps: [
        `oxygen ${i.oxygenMgPerLPerYear} x ${i.days} / 365 = ${fixed((i.oxygenMgPerLPerYear * i.days) / 365, 2)} mg/L takes up to 4 times its mass`,
        `likely ${fixed(found.likelyMgPerL)}, at the lowest ${fixed(found.lowestMgPerL)} mg/L`,
      ],
    }
  },
})

const total = calculation({
  name: 'so2-total',
  title: 'Running total of SO2 against its limit',
  topic: 'sulfur',
  source: 'Last measurement and additions since; limits as named. Check your own rules',
  status: 'derived',
  input: z.object({
    measuredMgPerL: num('Total SO2 as last measured', 'mg/L', 0, 500, 70),
    additions: z
      .array(
        z.object({
          doseG: num('Potassium metabisulphite', 'g', 0, 100_000, 60),
          treatedL: num('Litres it went into', 'L', 0.1, 1_000_000, 3300),
        }),
      )
      .max(100)
      .meta({ description: 'Since that measurement' }),
    regime: regime.default('eu'),
    sugarGPerL: sugarGPerL.default(2),
  }),
  output: z.object({
    totalMgPerL: figure('Total now', 'mg/L'),
    limitMgPerL: figure('Limit', 'mg/L'),
    roomMgPerL: figure('May still be added', 'mg/L'),
    overLimit: z.boolean(),
    tasted: z.boolean().meta({ description: 'Above 110 mg/L' }),
  }),
  run: (i) => {
    const { steps, ...result } = runningTotal(i.measuredMgPerL, i.additions, i.regime, i.sugarGPerL)
    return {
      result,
      steps,
      warnings: [
        ...(result.overLimit ? ['Above the limit of this rule book.'] : []),
        'What air and lees take is not counted: it errs on the side of the limit.',
      ],
    }
  },
})

export const sulfurKeepingCalculations = [limits, ahead, total]
