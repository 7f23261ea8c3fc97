import { z } from '@hono/zod-openapi'
import { additionMassG, dapG } from '../cellar/addition.ts'
import { enrichment } from '../cellar/enrich.ts'
import { nutrientPlan, yanMgPerL, yanWanted } from '../cellar/nutrient.ts'
import { rehydration, yeastDoseAdvice, yeastG } from '../cellar/yeast.ts'
import { brix, calculation, figure, fixed, freeSo2MgPerL, num, pick, volumeL } from './calculation.ts'

const plain = calculation({
  name: 'addition',
  title: 'Mass of any product for a rise in concentration',
  topic: 'additions',
  source: 'Conservation of mass',
  status: 'derived',
  input: z.object({
    fromMgPerL: num('Now', 'mg/L', 0, 100_000, 0),
    toMgPerL: num('Wanted', 'mg/L', 0, 100_000, 100),
    volumeL,
    activeShare: num('Share of the product that counts', '0 to 1', 0.001, 1, 1).default(1),
  }),
  output: z.object({ massG: figure('Product', 'g') }),
  run: (i) => {
    const massG = additionMassG(i.fromMgPerL, i.toMgPerL, i.volumeL, i.activeShare)
    return {
      result: { massG },
      steps: [`(${i.toMgPerL} - ${i.fromMgPerL}) mg/L x ${i.volumeL} L / 1000 / ${i.activeShare} = ${fixed(massG)} g`],
      warnings: i.toMgPerL < i.fromMgPerL ? ['There is more than wanted already: nothing is added.'] : [],
    }
  },
})

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

const sugarAdded = calculation({
  name: 'enrichment',
  title: 'Sugar for more alcohol',
  topic: 'additions',
  source: 'Common practice: 17 g/L for 1 % vol; 0.62 L a kilogram',
  status: 'common-practice',
  input: z.object({ risePctVol: num('Alcohol to be added', '% vol', 0, 3.5, 0.5), volumeL }),
  output: z.object({ sugarKg: figure('Sugar', 'kg'), volumeAfterL: figure('Must afterwards', 'L') }),
  run: (i) => {
    const found = enrichment(i.risePctVol, i.volumeL)
    return {
      result: found,
      steps: [`${i.risePctVol} x 17 g/L x ${i.volumeL} L / 1000 = ${fixed(found.sugarKg)} kg`],
      warnings: ['Many regions forbid or cap it, and none allows it together with acid: check your own rules.'],
    }
  },
})

export const additionCalculations = [plain, yan, nutrients, dap, yeast, sugarAdded]
