import { z } from '@hono/zod-openapi'
import { fermentAlarms } from '../cellar/alarms.ts'
import { forecastFerment, YEAST_KINDS } from '../cellar/fermentation.ts'
import { fermentRisk } from '../cellar/risk.ts'
import { stopPlan } from '../cellar/stop.ts'
import { calculation, figure, fixed, num, pick, volumeL } from './calculation.ts'
import { CAUTION, COLEMAN, ferment, mustSugar } from './ferment-fields.ts'

const reading = z.object({
  hour: num('Hours from the start', 'h', 0, 4800, 96),
  sugarGPerL: num('Sugar left', 'g/L', -10, 400, 150),
})
const forecastFields = {
  ...ferment,
  yeast: pick('What starts the ferment', YEAST_KINDS, 'selected').default('selected'),
  yeastGPerHL: num('Dry yeast', 'g/hL', 5, 100, 25).default(25),
  paceFactor: num("The cellar's own pace before readings", '', 0.05, 5, 0.57).default(0.57),
  readings: z.array(reading).max(200).default([]),
}
const spanOut = z
  .object({ earliest: z.number().nullable(), likely: z.number().nullable(), latest: z.number().nullable() })
  .meta({ description: 'Hours from the start, 80 % band; null: not within 100 days' })

const forecast = calculation({
  name: 'ferment-forecast',
  title: 'When will it be dry',
  topic: 'fermentation',
  source: `${COLEMAN}; pace, start and tail fitted to readings`,
  status: 'derived',
  caution: CAUTION,
  input: z.object({
    ...forecastFields,
    drySugarGPerL: num('Dry means', 'g/L', 0.5, 20, 2).default(2),
    stopSugarGPerL: num('Ask for this level too', 'g/L', 2, 250, 20).optional(),
  }),
  output: z.object({
    dryH: spanOut,
    stopH: spanOut.optional(),
    pace: figure('Pace after the readings', ''),
    restGPerL: figure('Left when nothing more happens', 'g/L'),
    points: z.array(
      z.object({
        hour: z.number(),
        sugarGPerL: z.number(),
        lowGPerL: z.number(),
        highGPerL: z.number(),
        tempC: z.number(),
      }),
    ),
  }),
  run: (i) => {
    const f = forecastFerment({ ...i, tempPlan: i.tempPlan ?? i.tempC })
    return {
      result: { dryH: f.dryH, stopH: f.stopH, pace: f.pace, restGPerL: f.restGPerL, points: [...f.points] },
      steps: [
        `pace ${i.paceFactor} before, ${fixed(f.pace, 2)} after ${i.readings.length} readings`,
        f.dryH.likely === null
          ? `the model stops at ${fixed(f.restGPerL)} g/L`
          : `dry after ${fixed(f.dryH.likely / 24)} days, ${days(f.dryH.earliest)} to ${days(f.dryH.latest)}`,
      ],
      warnings: i.readings.length < 2 ? ['Without readings the day is sure within a factor of two only.'] : [],
    }
  },
})

const days = (hours: number | null): string => (hours === null ? 'not in sight' : fixed(hours / 24))

const stop = calculation({
  name: 'stop-plan',
  title: 'When to chill so that it stops at a sugar',
  topic: 'fermentation',
  source: `${COLEMAN}; chilling L x 1.08 x 3.6 x dT / (3600 kW), common practice`,
  status: 'derived',
  caution: CAUTION,
  input: z.object({
    ...forecastFields,
    stopSugarGPerL: num('Sugar to keep', 'g/L', 2, 250, 20),
    volumeL,
    powerKW: num('Cooling of this tank', 'kW', 0.1, 1000, 12),
    coldC: num('Cold aimed at', 'C', -6, 8, 2).default(2),
  }),
  output: z.object({
    chillH: figure('Hours of chilling', 'h'),
    startH: figure('Begin, hours from the start', 'h'),
    coldAtH: figure('Cold, hours from the start', 'h'),
    startAtSugarGPerL: figure('Begin at this sugar', 'g/L'),
    safeStartGPerL: figure('Simple rule: target + rate x hours', 'g/L'),
  }),
  run: (i) => {
    const plan = stopPlan({ ...i, tempPlan: i.tempPlan ?? i.tempC })
    if (plan === null)
      throw new RangeError(`stopSugarGPerL is ${i.stopSugarGPerL}, expected a level the ferment reaches`)
    const { steps, ...result } = plan
    return { result, steps, warnings: ['Cold alone does not hold a sweet wine: SO2 and a sterile filter must follow.'] }
  },
})

const risk = calculation({
  name: 'ferment-risk',
  title: 'Risk of a sluggish or stuck ferment',
  topic: 'fermentation',
  source: 'AWRI (nitrogen 150 mg/L), WINETECH 2021 (50 NTU), model; other thresholds common practice',
  status: 'common-practice',
  input: z.object({
    sugarGPerL: mustSugar,
    yanMgPerL: num('Yeast-assimilable nitrogen', 'mg/L', 0, 1000, 140),
    maxC: num('Warmest of the plan', 'C', 0, 45, 18),
    minC: num('Coldest of the plan', 'C', 0, 45, 13),
    ntu: num('Turbidity of the juice', 'NTU', 0, 5000, 100).optional(),
    freeSo2MgPerL: num('Free SO2', 'mg/L', 0, 100, 5).optional(),
    ambientYeast: z.boolean().default(false).meta({ description: 'No yeast added', example: false }),
    restGPerL: num('Left by the forecast', 'g/L', 0, 300, 1).optional(),
  }),
  output: z.object({ level: z.enum(['low', 'raised', 'high']), reasons: z.array(z.string()) }),
  run: (i) => {
    const found = fermentRisk(i)
    return { result: { level: found.level, reasons: [...found.reasons] }, steps: [...found.reasons] }
  },
})

const alarms = calculation({
  name: 'ferment-alarms',
  title: 'What the readings of a ferment say now',
  topic: 'fermentation',
  source: 'Common practice',
  status: 'common-practice',
  input: z.object({
    startH: num('Yeast went in', 'h', 0, 10_000, 0).default(0),
    nowH: num('Now', 'h', 0, 10_000, 96),
    startBrix: num('Brix of the must', 'Brix', 10, 45, 22),
    setC: num('Set point', 'C', 5, 35, 15),
    readings: z
      .array(
        z.object({
          hour: num('When', 'h', 0, 10_000, 48),
          apparentBrix: num('Hydrometer', 'Brix', -5, 45, 20).optional(),
          tempC: num('Temperature', 'C', -2, 45, 15).optional(),
        }),
      )
      .max(500),
  }),
  output: z.object({
    alarms: z.array(
      z.object({ kind: z.string(), level: z.enum(['warn', 'act']), hour: z.number(), words: z.string() }),
    ),
  }),
  run: (i) => ({ result: { alarms: [...fermentAlarms(i)] }, steps: fermentAlarms(i).map((a) => a.words) }),
})

export const fermentationCalculations = [forecast, stop, risk, alarms]
