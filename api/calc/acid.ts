import { z } from '@hono/zod-openapi'
import { malolacticChange, tartaricAddition } from '../cellar/acid.ts'
import { malolacticScore, malolacticWeeks } from '../cellar/malolactic.ts'
import { acidAsSulfuric, acidMeqPerL } from '../cellar/units.ts'
import { alcoholPctVol, calculation, figure, fixed, freeSo2MgPerL, num, pH, pick, volumeL } from './calculation.ts'

const malolactic = calculation({
  name: 'malolactic',
  title: 'Malolactic: how hard and how long',
  topic: 'additions',
  source: 'Published culture supplier scorecard; class limits from memory; weeks common practice',
  status: 'common-practice',
  input: z.object({
    alcoholPctVol,
    pH,
    freeSo2MgPerL,
    totalSo2MgPerL: num('Total SO2', 'mg/L', 0, 500, 35),
    tempC: num('Temperature', 'C', -5, 40, 18),
    malicGPerL: num('Malic acid', 'g/L', 0, 20, 3),
    nutrientDemand: pick('Demand of the culture', ['low', 'medium', 'high', 'very-high'], 'medium').default('medium'),
    ferment: pick(
      'How the alcoholic ferment went',
      ['no-problem', 'transient-stress', 'sluggish', 'prolonged-lees'],
      'no-problem',
    ).default('no-problem'),
    maxBrixPerDay: num('Fastest day of the ferment', 'Brix/d', 0, 15, 1.5).default(1.5),
    bacteria: pick('Culture added, or wild', ['added', 'wild'], 'added').default('added'),
  }),
  output: z.object({
    points: figure('Points', ''),
    difficulty: z.enum(['easy', 'moderate', 'hard', 'very-hard']),
    weeksEarliest: figure('Earliest', 'weeks'),
    weeksLikely: figure('Likely', 'weeks'),
    weeksLatest: figure('Latest', 'weeks'),
  }),
  run: (i) => {
    const score = malolacticScore(i)
    const weeks = malolacticWeeks(i, i.bacteria)
    return {
      result: {
        points: score.points,
        difficulty: score.difficulty,
        weeksEarliest: weeks.earliest,
        weeksLikely: weeks.likely,
        weeksLatest: weeks.latest,
      },
      steps: [...score.parts.map((p) => `${p.factor}: ${p.points}`), `sum ${score.points}: ${score.difficulty}`],
      warnings: ['No SO2 while it is awaited; full vessels, malic every week near the end.'],
    }
  },
})

const malolacticAcid = calculation({
  name: 'malolactic-acid',
  title: 'What malolactic does to acid',
  topic: 'additions',
  source: 'Stoichiometry; pH +0.1 to 0.3 (secondary source)',
  status: 'derived',
  input: z.object({ malicGPerL: num('Malic acid', 'g/L', 0, 20, 3) }),
  output: z.object({
    lacticGPerL: figure('Lactic acid made', 'g/L'),
    co2GPerL: figure('CO2 given off', 'g/L'),
    acidFallGPerLTartaric: figure('Fall of acidity, as tartaric', 'g/L'),
    acidFallGPerLSulfuric: figure('Fall of acidity, as sulfuric', 'g/L'),
    pHRiseLow: figure('pH rises by at least', ''),
    pHRiseHigh: figure('pH rises by at most', ''),
  }),
  run: ({ malicGPerL }) => {
    const change = malolacticChange(malicGPerL)
    return {
      result: {
        lacticGPerL: change.lacticGPerL,
        co2GPerL: change.co2GPerL,
        acidFallGPerLTartaric: change.acidFallGPerLTartaric,
        acidFallGPerLSulfuric: acidAsSulfuric(change.acidFallGPerLTartaric),
        pHRiseLow: change.pHRise.low,
        pHRiseHigh: change.pHRise.high,
      },
      steps: [`${malicGPerL} g/L x 75.04 / 134.09 = ${fixed(change.acidFallGPerLTartaric, 2)} g/L as tartaric`],
      warnings: ['Tartrate that falls out lowers acidity further.'],
    }
  },
})

const tartaric = calculation({
  name: 'tartaric',
  title: 'Tartaric acid',
  topic: 'additions',
  source: 'Stoichiometry; cap 54 meq/L: OIV Code annex; pH common practice',
  status: 'source',
  input: z.object({ riseGPerL: num('Acidity to add', 'g/L tartaric', 0, 10, 1), volumeL }),
  output: z.object({
    massKg: figure('Tartaric acid', 'kg'),
    meqPerL: figure('That is', 'meq/L'),
    pHFallAbout: figure('pH falls by about', ''),
    overCap: z.boolean(),
  }),
  run: ({ riseGPerL, volumeL: volume }) => {
    const found = tartaricAddition(riseGPerL, volume)
    return {
      result: found,
      steps: [
        `${riseGPerL} g/L x ${volume} L / 1000 = ${fixed(found.massKg, 2)} kg`,
        `${fixed(acidMeqPerL(riseGPerL))} meq/L of 54 allowed by the OIV code`,
      ],
    }
  },
})

const acidUnits = calculation({
  name: 'acid-units',
  title: 'Acidity in other units',
  topic: 'additions',
  source: 'Ratio of equivalents: 49.04 / 75.04',
  status: 'derived',
  input: z.object({ acidGPerLTartaric: num('Acidity as tartaric', 'g/L', 0, 50, 6.5) }),
  output: z.object({
    acidGPerLSulfuric: figure('As sulfuric', 'g/L'),
    meqPerL: figure('Milliequivalents', 'meq/L'),
  }),
  run: ({ acidGPerLTartaric }) => ({
    result: { acidGPerLSulfuric: acidAsSulfuric(acidGPerLTartaric), meqPerL: acidMeqPerL(acidGPerLTartaric) },
    steps: [`${acidGPerLTartaric} x 0.6535 = ${fixed(acidAsSulfuric(acidGPerLTartaric), 2)} g/L as sulfuric`],
  }),
})

export const acidCalculations = [malolactic, malolacticAcid, tartaric, acidUnits]
