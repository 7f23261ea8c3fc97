import { z } from '@hono/zod-openapi'
import { sweetReserveL } from '../cellar/blend.ts'
import { bentonitePlan, copperPlan, enzymeG } from '../cellar/fining.ts'
import { calculation, figure, fixed, num, volumeL } from './calculation.ts'

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

export const finingCalculations = [bentonite, enzyme, copper, reserve]
