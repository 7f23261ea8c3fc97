import { z } from '@hono/zod-openapi'
import { malolacticChange, tartaricAddition } from '../cellar/acid.ts'
import { dapG } from '../cellar/addition.ts'
import { sweetReserveL } from '../cellar/blend.ts'
import { bentonitePlan, copperPlan, enzymeG } from '../cellar/fining.ts'
import { malolacticScore, malolacticWeeks } from '../cellar/malolactic.ts'
import { nutrientPlan, yanMgPerL, yanWanted } from '../cellar/nutrient.ts'
import { acidAsSulfuric, acidMeqPerL } from '../cellar/units.ts'
import { rehydration, yeastDoseAdvice, yeastG } from '../cellar/yeast.ts'
import {
  alcoholPctVol,
  brix,
  calculation,
  figure,
  fixed,
  freeSo2MgPerL,
  num,
  pH,
  pick,
  volumeL,
} from './calculation.ts'

const yan = calculation({
  name: 'yan',
  title: 'Yeast-assimilable nitrogen, measured and wanted',
  topic: 'additions',
  source: 'AWRI: YAN = 0.8225 x ammonia + alpha-amino N; wanted by Brix: Bisson & Butzke 2000, from memory',
  status: 'source',
  input: z.object({
    ammoniaMgPerL: num('Ammonia, as NH3', 'mg/L', 0, 500, 60),
    alphaAminoMgPerL: num('Alpha-amino nitrogen', 'mg N/L', 0, 800, 110),
    brix: num('Brix', 'Brix', 14, 32, 22).default(22),
  }),
  output: z.object({
    yanMgPerL: figure('YAN', 'mg N/L'),
    wantedMgPerL: figure('Wanted at this Brix, from memory', 'mg N/L'),
  }),
  run: (i) => ({
    result: { yanMgPerL: yanMgPerL(i.ammoniaMgPerL, i.alphaAminoMgPerL), wantedMgPerL: yanWanted(i.brix) },
    steps: [
      `0.8225 x ${i.ammoniaMgPerL} + ${i.alphaAminoMgPerL} = ${fixed(yanMgPerL(i.ammoniaMgPerL, i.alphaAminoMgPerL))} mg N/L`,
      `wanted at ${i.brix} Brix: ${yanWanted(i.brix)} mg N/L (150 at least)`,
    ],
  }),
})

const nutrients = calculation({
  name: 'nutrients',
  title: 'Diammonium phosphate in two doses',
  topic: 'additions',
  source: 'Stoichiometry (21.2 % N); timing: half after the start, half by one third of the sugar',
  status: 'derived',
  input: z.object({
    yanMgPerL: num('YAN now', 'mg N/L', 0, 1000, 150),
    targetMgPerL: num('YAN wanted', 'mg N/L', 0, 500, 250),
    volumeL,
    regime: pick('Rule book', ['eu', 'us', 'oiv'], 'eu').default('eu'),
  }),
  output: z.object({
    deficitMgPerL: figure('Missing', 'mg N/L'),
    dapG: figure('Diammonium phosphate', 'g'),
    dapGPerL: figure('That is', 'g/L'),
    firstG: figure('First dose', 'g'),
    secondG: figure('Second dose', 'g'),
    allowedDapG: figure('At most by the rule book', 'g'),
    overLimit: z.boolean(),
  }),
  run: (i) => {
    const { steps, limitWords, ...result } = nutrientPlan(i.yanMgPerL, i.targetMgPerL, i.volumeL, i.regime)
    return {
      result,
      steps,
      warnings: [
        `Limit: ${limitWords}`,
        ...(result.overLimit ? ['Above the limit: take organic nutrient for the rest.'] : []),
        'Not with the yeast, and not past half of the sugar.',
      ],
    }
  },
})

const dap = calculation({
  name: 'dap',
  title: 'Diammonium phosphate for a rise in nitrogen',
  topic: 'additions',
  source: 'Stoichiometry: 28.014 / 132.056 = 21.21 % N',
  status: 'derived',
  input: z.object({ yanMgPerL: num('Nitrogen to add', 'mg N/L', 0, 500, 50), volumeL }),
  output: z.object({ dapG: figure('Diammonium phosphate', 'g') }),
  run: (i) => ({
    result: { dapG: dapG(i.yanMgPerL, i.volumeL) },
    steps: [`${i.yanMgPerL} mg/L x ${i.volumeL} L / 1000 / 0.2121 = ${fixed(dapG(i.yanMgPerL, i.volumeL), 0)} g`],
  }),
})

const yeast = calculation({
  name: 'yeast',
  title: 'Dry yeast and its rehydration',
  topic: 'additions',
  source: '25 g/hL (AWRI); water 10 x at 35-40 C, 20 min, steps to within 10 C (supplier sheet)',
  status: 'source',
  caution: 'Water of 40 C and more: gloves. Weigh away from draughts.',
  input: z.object({
    volumeL,
    yeastGPerHL: num('Dose', 'g/hL', 5, 100, 25).default(25),
    mustC: num('Must temperature', 'C', 4, 30, 14),
    waterC: num('Water temperature', 'C', 35, 40, 37).default(37),
    brix: brix.default(22),
    ntu: num('Turbidity of the juice', 'NTU', 0, 5000, 100).optional(),
    freeSo2MgPerL: freeSo2MgPerL.optional(),
  }),
  output: z.object({
    yeastG: figure('Dry yeast', 'g'),
    waterL: figure('Water', 'L'),
    doublings: figure('Doublings with must', ''),
    afterDoublingC: z.array(z.number()).meta({ description: 'Culture after each doubling, C' }),
    totalL: figure('Culture at the end', 'L'),
    minutes: figure('Time', 'min'),
    advisedGPerHL: figure('Dose advised for this juice', 'g/hL'),
  }),
  run: (i) => {
    const plan = rehydration(yeastG(i.volumeL, i.yeastGPerHL), i.mustC, i.waterC)
    const advice = yeastDoseAdvice({
      brix: Math.max(10, i.brix),
      tempC: i.mustC,
      ntu: i.ntu,
      freeSo2MgPerL: i.freeSo2MgPerL,
    })
    return {
      result: {
        yeastG: plan.yeastG,
        waterL: plan.waterL,
        doublings: plan.afterDoublingC.length,
        afterDoublingC: [...plan.afterDoublingC],
        totalL: plan.totalL,
        minutes: plan.minutes,
        advisedGPerHL: advice.doseGPerHL,
      },
      steps: [`${i.volumeL} L / 100 x ${i.yeastGPerHL} g/hL = ${fixed(plan.yeastG, 0)} g`, ...plan.steps],
      warnings: advice.reasons.map((r) => `${advice.doseGPerHL} g/hL advised: ${r}.`),
    }
  },
})

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

const bentonite = calculation({
  name: 'bentonite',
  title: 'Bentonite and its water',
  topic: 'additions',
  source: 'Purdue FS-53-W (16.7 L/kg); 27 CFR 24.246 (water 1 % of the wine); dose by trial',
  status: 'source',
  caution: 'Water of 60 C scalds; bentonite dust: mask.',
  input: z.object({ doseGPerL: num('Dose of the trial', 'g/L', 0.01, 3, 0.6), volumeL }),
  output: z.object({
    massKg: figure('Bentonite', 'kg'),
    waterMaxL: figure('Water at most', 'L'),
    leesLowL: figure('Lees at least', 'L'),
    leesHighL: figure('Lees at most', 'L'),
  }),
  run: ({ doseGPerL, volumeL: volume }) => {
    const plan = bentonitePlan(doseGPerL, volume)
    return {
      result: { massKg: plan.massKg, waterMaxL: plan.waterMaxL, leesLowL: plan.leesL.low, leesHighL: plan.leesL.high },
      steps: [
        `${doseGPerL} g/L x ${volume} L / 1000 = ${fixed(plan.massKg, 2)} kg`,
        `water: ${fixed(16.7 * plan.massKg)} L by weight, ${fixed(0.01 * volume)} L by wine; ${plan.bindingRule} binds`,
        'swell 4 h to overnight in water of 60 C',
      ],
    }
  },
})

const enzyme = calculation({
  name: 'enzyme',
  title: 'Pectic enzyme',
  topic: 'additions',
  source: 'Common practice, 1-4 g/hL; follow the label',
  status: 'common-practice',
  input: z.object({ volumeL, doseGPerHL: num('Dose', 'g/hL', 0.5, 10, 2).default(2) }),
  output: z.object({ doseG: figure('Enzyme', 'g') }),
  run: (i) => ({
    result: { doseG: enzymeG(i.volumeL, i.doseGPerHL) },
    steps: [`${i.volumeL} L / 100 x ${i.doseGPerHL} g/hL = ${fixed(enzymeG(i.volumeL, i.doseGPerHL))} g`],
    warnings: ['Never together with bentonite.'],
  }),
})

const copper = calculation({
  name: 'copper',
  title: 'Copper sulphate',
  topic: 'additions',
  source: 'Iowa State University Extension (0.05-0.5 mg/L Cu by trial); OIV code 1 g/hL; AWRI 7 days before bottling',
  status: 'source',
  caution: 'Copper sulphate is poisonous: gloves, labelled bottle, second person checks the weight.',
  input: z.object({ copperMgPerL: num('Copper of the trial', 'mg/L Cu', 0.01, 3, 0.2), volumeL }),
  output: z.object({
    massG: figure('CuSO4.5H2O', 'g'),
    sulphateGPerHL: figure('That is', 'g/hL'),
    overTrial: z.boolean(),
    overOiv: z.boolean(),
    bottleNotBeforeDays: figure('No bottling for', 'd'),
  }),
  run: (i) => {
    const plan = copperPlan(i.copperMgPerL, i.volumeL)
    return {
      result: plan,
      steps: [`${i.copperMgPerL} mg/L x ${i.volumeL} L / 1000 / 0.2545 = ${fixed(plan.massG, 2)} g`],
    }
  },
})

const reserve = calculation({
  name: 'sweet-reserve',
  title: 'Sweet reserve for a blend',
  topic: 'additions',
  source: 'Conservation of sugar',
  status: 'derived',
  input: z.object({
    volumeL,
    sugarGPerL: num('Sugar now', 'g/L', 0, 200, 3),
    targetGPerL: num('Sugar wanted', 'g/L', 0, 300, 12),
    reserveGPerL: num('Sugar of the reserve', 'g/L', 1, 800, 200),
  }),
  output: z.object({ reserveL: figure('Reserve', 'L') }),
  run: (i) => {
    const litres = sweetReserveL(i.volumeL, i.sugarGPerL, i.targetGPerL, i.reserveGPerL)
    return {
      result: { reserveL: litres },
      steps: [
        `${i.volumeL} x (${i.targetGPerL} - ${i.sugarGPerL}) / (${i.reserveGPerL} - ${i.targetGPerL}) = ${fixed(litres)} L`,
      ],
      warnings: ['A sweetened wine needs a sterile filter.'],
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

export const additionCalculations = [
  yan,
  nutrients,
  dap,
  yeast,
  malolactic,
  malolacticAcid,
  tartaric,
  bentonite,
  enzyme,
  copper,
  reserve,
  acidUnits,
]
