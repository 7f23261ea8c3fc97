import { z } from '@hono/zod-openapi'
import { metabisulphiteG } from '../cellar/addition.ts'
import { freeSo2Needed, molecularShare, molecularSo2, type PkChoice, pkOf, pkWords } from '../cellar/sulfur.ts'
import { BINDING, bindingByPh, so2Dose } from '../cellar/sulfur-dose.ts'
import { SO2_REGIMES, TOTAL_SO2_TASTE_MG_PER_L, totalSo2Limit } from '../cellar/sulfur-limits.ts'
import { oivExtrapolates, oivPk, oivPkTable } from '../cellar/sulfur-oiv.ts'
import { calculation, figure, fixed, freeSo2MgPerL, num, pH, pick, volumeL } from './calculation.ts'

const CAUTION =
  'Metabisulphite dust and SO2 gas hurt lungs and eyes: weigh in moving air, gloves and goggles, never pour acid on it. 5 ppm is the US 8 h limit.'

const METHODS = ['1.81', '1.77', 'oiv'] as const
const pkFields = {
  pkMethod: pick(
    'pK taken: 1.81 (most tables), 1.77, or the OIV method by temperature and alcohol',
    METHODS,
    '1.81',
  ).default('1.81'),
  alcoholPctVol: num('Alcohol, for the OIV method', '% vol', 0, 15, 12).default(12),
  tempC: num('Wine temperature, for the OIV method', 'C', 10, 40, 20).default(20),
  ionicStrength: num('Ionic strength, for the OIV method', 'mol/L', 0.016, 0.056, 0.038).default(0.038),
}
interface PkFields {
  readonly pkMethod: (typeof METHODS)[number]
  readonly alcoholPctVol: number
  readonly tempC: number
  readonly ionicStrength: number
}
const choiceOf = (i: PkFields): PkChoice => {
  if (i.pkMethod === '1.81') return 1.81
  if (i.pkMethod === '1.77') return 1.77
  return { alcoholPctVol: i.alcoholPctVol, tempC: i.tempC, ionicStrength: i.ionicStrength }
}
const pkWarnings = (i: PkFields): string[] => [
  'The pK moves the answer by 40 %: the OIV method by wine temperature is the finest, 1.81 the most used.',
  ...(i.pkMethod === 'oiv' && oivExtrapolates(i.tempC) ? ['Below 20 C the printed table is extrapolated.'] : []),
]

const molecular = calculation({
  name: 'molecular-so2',
  title: 'Molecular SO2',
  topic: 'sulfur',
  source: 'OIV-MA-AS323-04C: free / (1 + 10^(pH - pK))',
  status: 'source',
  input: z.object({ freeSo2MgPerL, pH, ...pkFields }),
  output: z.object({
    molecularMgPerL: figure('Molecular SO2', 'mg/L'),
    molecularPct: figure('Share of the free SO2', '%'),
    pK: figure('pK taken', ''),
  }),
  run: (i) => {
    const pk = choiceOf(i)
    const share = molecularShare(i.pH, pk)
    return {
      result: { molecularMgPerL: molecularSo2(i.freeSo2MgPerL, i.pH, pk), molecularPct: 100 * share, pK: pkOf(pk) },
      steps: [
        `1 / (1 + 10^(${i.pH} - ${fixed(pkOf(pk), 3)})) = ${fixed(100 * share, 2)} % (${pkWords(pk)})`,
        `${i.freeSo2MgPerL} mg/L x ${fixed(100 * share, 2)} % = ${fixed(molecularSo2(i.freeSo2MgPerL, i.pH, pk), 2)} mg/L`,
      ],
      warnings: pkWarnings(i),
    }
  },
})

const needed = calculation({
  name: 'free-so2-needed',
  title: 'Free SO2 for a molecular target',
  topic: 'sulfur',
  source: 'OIV-MA-AS323-04C; targets of Practical Winery Jan/Feb 2009: 0.5-0.8 stored, 0.8 bottled',
  status: 'source',
  input: z.object({ molecularMgPerL: num('Molecular SO2 wanted', 'mg/L', 0, 3, 0.8), pH, ...pkFields }),
  output: z.object({ freeSo2MgPerL: figure('Free SO2 needed', 'mg/L'), pK: figure('pK taken', '') }),
  run: (i) => {
    const pk = choiceOf(i)
    const free = freeSo2Needed(i.molecularMgPerL, i.pH, pk)
    return {
      result: { freeSo2MgPerL: free, pK: pkOf(pk) },
      steps: [
        `${i.molecularMgPerL} x (1 + 10^(${i.pH} - ${fixed(pkOf(pk), 3)})) = ${fixed(free)} mg/L (${pkWords(pk)})`,
      ],
      warnings: pkWarnings(i),
    }
  },
})

const oiv = calculation({
  name: 'so2-pk',
  title: 'pK of SO2 by temperature and alcohol',
  topic: 'sulfur',
  source: 'OIV-MA-AS323-04C Table I (pKT); A and B polynomials from public code that cites it',
  status: 'derived',
  input: z.object({
    alcoholPctVol: pkFields.alcoholPctVol,
    tempC: pkFields.tempC,
    ionicStrength: pkFields.ionicStrength,
  }),
  output: z.object({ pKT: figure('Thermodynamic pK', ''), pKM: figure('pK in this wine', '') }),
  run: (i) => ({
    result: { pKT: oivPkTable(i.alcoholPctVol, i.tempC), pKM: oivPk(i.alcoholPctVol, i.tempC, i.ionicStrength) },
    steps: [
      `Table I at ${i.alcoholPctVol} % vol and ${i.tempC} C: ${fixed(oivPkTable(i.alcoholPctVol, i.tempC), 3)}`,
      `less A sqrt(I) / (1 + B sqrt(I)), I = ${i.ionicStrength}: ${fixed(oivPk(i.alcoholPctVol, i.tempC, i.ionicStrength), 3)}`,
    ],
    warnings: oivExtrapolates(i.tempC) ? ['Below 20 C the printed table is extrapolated.'] : [],
  }),
})

const dose = calculation({
  name: 'so2-dose',
  title: 'Metabisulphite for a tank or barrel',
  topic: 'sulfur',
  source: 'Conservation of mass; 57.6 % SO2 by formula; binding: trade practice, sources disagree (25-50 %)',
  status: 'common-practice',
  caution: CAUTION,
  input: z.object({
    volumeL,
    pH,
    freeSo2MgPerL,
    totalSo2MgPerL: num('Total SO2 now', 'mg/L', 0, 500, 60).optional(),
    molecularMgPerL: num('Molecular SO2 wanted', 'mg/L', 0, 3, 0.8),
    age: pick('juice and young wine bind half, aged wine a third', ['juice', 'young', 'aged'], 'aged').default('aged'),
    bindingShare: num('Share that binds; overrides the age', '0 to 1', 0, 0.95, 0.33).optional(),
    so2Share: num('SO2 in the metabisulphite', '0 to 1', 0.3, 0.68, 0.5763).default(0.5763),
    solutionPct: num('Solution used instead', 'g SO2 per 100 mL', 0.5, 20, 5).optional(),
    regime: pick('Rule book for the total', SO2_REGIMES, 'eu').default('eu'),
    sugarGPerL: num('Glucose and fructose', 'g/L', 0, 300, 2).default(2),
    ...pkFields,
  }),
  output: z.object({
    freeTargetMgPerL: figure('Free SO2 aimed at', 'mg/L'),
    addMgPerL: figure('To add', 'mg/L SO2'),
    bindingShare: figure('Share that binds', '0 to 1'),
    doseG: figure('Potassium metabisulphite', 'g'),
    doseMl: figure('Or solution', 'mL').optional(),
    totalAfterMgPerL: figure('Total SO2 afterwards', 'mg/L').optional(),
    totalLimitMgPerL: figure('Limit of the rule book', 'mg/L'),
  }),
  run: (i) => {
    const worked = so2Dose({ ...i, pk: choiceOf(i) })
    const limit = totalSo2Limit(i.regime, i.sugarGPerL)
    const { steps, ...result } = worked
    const after = worked.totalAfterMgPerL
    return {
      result: { ...result, totalLimitMgPerL: limit.totalMgPerL },
      steps,
      warnings: [
        'Measure free SO2 again after a day or two.',
        ...(after !== undefined && after > limit.totalMgPerL
          ? [`Total ${fixed(after, 0)} mg/L is above ${limit.totalMgPerL} (${limit.source}, ${limit.printed}).`]
          : []),
        ...(after !== undefined && after > TOTAL_SO2_TASTE_MG_PER_L ? ['Above 110 mg/L total it can be tasted.'] : []),
        `${limit.source} (${limit.printed}): ${limit.note}`,
        `At pH ${i.pH} another source binds ${i.pH >= 3.1 && i.pH <= 3.5 ? fixed(100 * bindingByPh(i.pH), 0) : '25-50'} %; here ${fixed(100 * (i.bindingShare ?? BINDING[i.age]), 0)} %.`,
      ],
    }
  },
})

const metabisulphite = calculation({
  name: 'metabisulphite',
  title: 'Metabisulphite for a plain addition',
  topic: 'sulfur',
  source: 'Stoichiometry: 57.63 % SO2 in K2S2O5; 57 % is usual in practice',
  status: 'derived',
  caution: CAUTION,
  input: z.object({
    volumeL,
    so2MgPerL: num('SO2 to add', 'mg/L', 0, 300, 30),
    so2Share: num('SO2 in the metabisulphite', '0 to 1', 0.3, 0.68, 0.5763).default(0.5763),
  }),
  output: z.object({ doseG: figure('Potassium metabisulphite', 'g') }),
  run: ({ volumeL: volume, so2MgPerL, so2Share }) => ({
    result: { doseG: metabisulphiteG(so2MgPerL, volume, so2Share) },
    steps: [
      `${so2MgPerL} mg/L x ${volume} L / 1000 / ${so2Share} = ${fixed(metabisulphiteG(so2MgPerL, volume, so2Share))} g`,
    ],
  }),
})

export const sulfurCalculations = [molecular, needed, oiv, dose, metabisulphite]
