import { z } from '@hono/zod-openapi'
import { airAdvice, EXPOSURE_LIMITS } from '../cellar/exposure.ts'
import { chillHours } from '../cellar/fermentation.ts'
import { CO2_G_PER_G_SUGAR, closedRoomPpm, co2LPerL, co2M3PerH, co2PpmAtOxygen, freshAirM3PerH } from '../cellar/gas.ts'
import {
  chillerPoolKW,
  chillKW,
  coolingByHour,
  fermentationHeatKJ,
  fermentationKW,
  risePerBrix,
  specificHeat,
} from '../cellar/heat.ts'
import { brix, calculation, figure, fixed, num, pick, sugarGPerL, tempC, volumeL } from './calculation.ts'

const CO2_CAUTION =
  'CO2 is heavier than air and kills without warning in pits, tanks and low rooms. Measure CO2 itself; an oxygen alarm is no CO2 alarm.'
const rate = num('Sugar fermented in a day', 'g/L/d', 0, 150, 20)

const heat = calculation({
  name: 'ferment-heat',
  title: 'Heat of a ferment',
  topic: 'air',
  source: '100.4 kJ per mol hexose (24 kcal; Goelzer 2009, excerpt) = 557.4 kJ/kg sugar',
  status: 'derived',
  input: z.object({ volumeL, sugarGPerLPerDay: rate, sugarGPerL: sugarGPerL.default(200), brix: brix.default(22) }),
  output: z.object({
    kW: figure('Heat now', 'kW'),
    totalKJ: figure('Heat of all the sugar', 'kJ'),
    totalKcal: figure('Heat of all the sugar', 'kcal'),
    risePerBrixK: figure('Rise per Brix without cooling', 'K'),
  }),
  run: (i) => {
    const kW = fermentationKW(i.volumeL, i.sugarGPerLPerDay)
    const total = fermentationHeatKJ(i.volumeL, i.sugarGPerL)
    return {
      result: { kW, totalKJ: total, totalKcal: total / 4.184, risePerBrixK: risePerBrix(i.brix, 20) },
      steps: [`${i.volumeL} L x ${i.sugarGPerLPerDay} g/L/d / 1000 x 557.4 / 86400 = ${fixed(kW, 3)} kW`],
      warnings: ['Walls, sun and pumps come on top; up to a fifth leaves with the gas.'],
    }
  },
})

const specific = calculation({
  name: 'specific-heat',
  title: 'Specific heat of must',
  topic: 'air',
  source: 'Sugar-liquor formula: 4184 - 2971 w + 460 w purity + 7.5 w T',
  status: 'derived',
  input: z.object({
    brix: num('Brix', 'Brix', 0, 40, 22),
    tempC: num('Temperature', 'C', 0, 60, 15),
    purity: num('Purity of the sugar', '0 to 1', 0, 1, 1).default(1),
  }),
  output: z.object({ specificHeatJPerKgK: figure('Specific heat', 'J/(kg K)') }),
  run: (i) => ({
    result: { specificHeatJPerKgK: specificHeat(i.brix, i.tempC, i.purity) },
    steps: [`${fixed(specificHeat(i.brix, i.tempC, i.purity), 0)} J/(kg K)`],
  }),
})

const chill = calculation({
  name: 'chill',
  title: 'Chilling or warming a volume',
  topic: 'air',
  source: 'Mass x specific heat x difference; rule of thumb L x 1.08 x 3.6 x dT / (3600 kW)',
  status: 'derived',
  caution: 'Glycol and hot water under pressure: close valves in order, gloves, no one under the hose.',
  input: z.object({
    volumeL,
    fromC: tempC,
    toC: num('Temperature wanted', 'C', -6, 45, 8),
    powerKW: num('Power given', 'kW', 0.1, 2000, 12),
    hours: num('Time allowed', 'h', 0.5, 240, 12).default(12),
    brix: brix.default(22),
  }),
  output: z.object({ hours: figure('Hours with this power', 'h'), kW: figure('Power for the time allowed', 'kW') }),
  run: (i) => {
    const hours = chillHours(i.volumeL, Math.abs(i.fromC - i.toC), i.powerKW)
    const kW = chillKW(i.volumeL, i.fromC, i.toC, i.hours, i.brix)
    return {
      result: { hours, kW },
      steps: [
        `${i.volumeL} x 1.08 x 3.6 x ${fixed(Math.abs(i.fromC - i.toC))} / (3600 x ${i.powerKW}) = ${fixed(hours)} h`,
        `in ${i.hours} h: ${fixed(kW)} kW`,
      ],
    }
  },
})

const pool = calculation({
  name: 'cooling-pool',
  title: 'Cooling demand against the chiller',
  topic: 'air',
  source: '85 % of the plate less standing loss: common practice',
  status: 'common-practice',
  input: z.object({
    plateKW: num('Chiller plate', 'kW', 0.5, 5000, 25),
    standingKW: num('Standing loss', 'kW', 0, 1000, 4).default(0),
    loads: z
      .array(
        z.object({
          name: z.string().min(1).max(40).meta({ example: 'T04' }),
          fromHour: z.number().int().min(0).max(2000).meta({ example: 0 }),
          kW: z
            .array(z.number().min(0).max(5000))
            .min(1)
            .max(2000)
            .meta({ example: [4.7, 4.7, 4.7] }),
        }),
      )
      .min(1)
      .max(200),
  }),
  output: z.object({
    poolKW: figure('Usable', 'kW'),
    peakKW: figure('Highest demand', 'kW'),
    peakHour: figure('In hour', ''),
    shortHours: figure('Hours short', 'h'),
  }),
  run: (i) => {
    const usable = chillerPoolKW(i.plateKW, i.standingKW)
    const hours = coolingByHour(i.loads, usable)
    const peak = hours.reduce((a, b) => (b.kW > a.kW ? b : a))
    const short = hours.filter((h) => h.shortKW > 0)
    return {
      result: { poolKW: usable, peakKW: peak.kW, peakHour: peak.hour, shortHours: short.length },
      steps: [
        `${i.plateKW} x 0.85 - ${i.standingKW} = ${fixed(usable)} kW`,
        `peak ${fixed(peak.kW)} kW in hour ${peak.hour}: ${peak.loads.map((l) => `${l.name} ${fixed(l.kW)}`).join(', ')}`,
      ],
      warnings: short.length > 0 ? [`Short in ${short.length} hours, from hour ${short[0]?.hour}.`] : [],
    }
  },
})

const co2 = calculation({
  name: 'co2',
  title: 'CO2 of a ferment and the fresh air it asks for',
  topic: 'air',
  source: 'Stoichiometry, ideal gas at 20 C; 5000 ppm 8 h limit (OSHA, NIOSH, EH40)',
  status: 'derived',
  caution: CO2_CAUTION,
  input: z.object({
    volumeL,
    sugarGPerLPerDay: rate,
    sugarGPerL: sugarGPerL.default(200),
    realised: num('Part of the sugar that goes this way', '0 to 1', 0.5, 1, 0.95).default(0.95),
    limitPpm: num('Level to stay under', 'ppm', 1000, 30_000, 5000).default(5000),
    roomM3: num('Room', 'm3', 1, 1_000_000, 1000).default(1000),
  }),
  output: z.object({
    co2M3PerH: figure('CO2 now', 'm3/h'),
    freshAirM3PerH: figure('Fresh air', 'm3/h'),
    co2LPerL: figure('CO2 of all the sugar', 'L/L'),
    co2GPerG: figure('CO2 of a gram of sugar', 'g/g'),
    closedRoomPpmAfter1H: figure('Closed room after one hour', 'ppm'),
  }),
  run: (i) => {
    const given = co2M3PerH(i.volumeL, i.sugarGPerLPerDay)
    const air = freshAirM3PerH(given, i.limitPpm)
    return {
      result: {
        co2M3PerH: given,
        freshAirM3PerH: air,
        co2LPerL: co2LPerL(i.sugarGPerL, i.realised),
        co2GPerG: CO2_G_PER_G_SUGAR,
        closedRoomPpmAfter1H: closedRoomPpm(given, 1, i.roomM3),
      },
      steps: [
        `${i.volumeL} L x ${i.sugarGPerLPerDay} g/L/d: ${fixed(given, 2)} m3 CO2 an hour`,
        `${fixed(given, 2)} / (${i.limitPpm / 1e6} - 0.0004) = ${fixed(air, 0)} m3 of fresh air an hour`,
      ],
      warnings: ['Air alone is not enough in pits and tanks.'],
    }
  },
})

const exposure = calculation({
  name: 'exposure-limits',
  title: 'Limits of the air people work in',
  topic: 'air',
  source: 'NIOSH, OSHA, EH40/2005, 29 CFR 1910.146; EU and ACGIH SO2 from memory',
  status: 'source',
  caution: CO2_CAUTION,
  input: z.object({ substance: pick('Substance', ['CO2', 'SO2', 'O2'], 'CO2') }),
  output: z.object({
    limits: z.array(
      z.object({
        id: z.string(),
        value: z.number(),
        unit: z.string(),
        kind: z.string(),
        source: z.string(),
        memory: z.boolean(),
      }),
    ),
  }),
  run: (i) => {
    const found = EXPOSURE_LIMITS.filter((l) => l.substance === i.substance)
    return {
      result: { limits: found.map(({ substance: _, ...rest }) => rest) },
      steps: found.map(
        (l) => `${l.value} ${l.unit} (${l.kind}): ${l.source}${l.memory ? ', from memory, verify' : ''}`,
      ),
      warnings: ['Check your own rules.'],
    }
  },
})

const air = calculation({
  name: 'air-advice',
  title: 'What to do at a CO2 reading',
  topic: 'air',
  source: 'NIOSH 124-38-9: 5000 ppm 8 h, 30 000 ppm 15 min',
  status: 'source',
  caution: CO2_CAUTION,
  input: z.object({
    co2Ppm: num('Reading', 'ppm', 0, 1_000_000, 4000),
    oxygenPct: num('Oxygen', '% vol', 0, 20.9, 19.5).default(19.5),
  }),
  output: z.object({
    level: z.enum(['good', 'short', 'leave']),
    words: z.string(),
    co2PpmAtOxygen: figure('CO2 that would push oxygen to this', 'ppm'),
  }),
  run: (i) => ({
    result: { ...airAdvice(i.co2Ppm), co2PpmAtOxygen: co2PpmAtOxygen(i.oxygenPct) },
    steps: [`1 - ${i.oxygenPct} / 20.9 = ${fixed(co2PpmAtOxygen(i.oxygenPct), 0)} ppm CO2`],
  }),
})

export const airCalculations = [heat, specific, chill, pool, co2, exposure, air]
