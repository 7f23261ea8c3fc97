import { z } from '@hono/zod-openapi'
import { ALCOHOL_CONVENTIONS, ethanolGPerL, potentialAlcoholPctVol, SUGAR_PER_PCT } from '../cellar/alcohol.ts'
import { sugarLeft } from '../cellar/apparent.ts'
import { hydrometerAt20, refractometerBrix, refractometerCorrection } from '../cellar/instrument.ts'
import {
  type BaumeModulus,
  baumeOfBrix,
  brixOfBaume,
  brixOfDensity,
  brixOfOechsle,
  brixOfSg,
  brixOfSugar,
  densityOfBrix,
  kmwOfOechsle,
  oechsleOfBrix,
  oechsleOfKmw,
  SUGAR_CONVENTIONS,
  type SugarConvention,
  sgOfBrix,
  solidsGPerL,
  sugarOfBrix,
} from '../cellar/sugar.ts'
import { alcoholPctVol, brix, calculation, figure, fixed, num, pick, sugarGPerL } from './calculation.ts'

const UNITS = ['brix', 'sg', 'density', 'oechsle', 'baume', 'kmw', 'sugar'] as const
const MODULI = ['144.3', '145', '146.78'] as const

const convertSugar = calculation({
  name: 'convert-sugar',
  title: 'Sugar units of a must',
  topic: 'sugar',
  source: 'ICUMSA / Emmerich density polynomial (20 C); 2.66 Oe - 30 or 0.93 x solids',
  status: 'derived',
  input: z.object({
    value: num('The reading in its own unit', 'as chosen', -5, 1250, 22),
    unit: pick('Unit of the reading: density is kg/m3, sugar g/L', UNITS, 'brix'),
    baumeModulus: pick('Modulus of the Baume scale', MODULI, '145').default('145'),
    sugarConvention: pick('How sugar follows from density', SUGAR_CONVENTIONS, 'oechsle').default('oechsle'),
  }),
  output: z.object({
    brix: figure('Brix', 'Brix'),
    sg: figure('Specific gravity 20/20', ''),
    densityKgPerM3: figure('Density at 20 C', 'kg/m3'),
    oechsle: figure('Oechsle', 'Oe'),
    baume: figure('Baume with the modulus chosen', 'Be'),
    kmw: figure('Klosterneuburg', 'KMW'),
    solidsGPerL: figure('All that is dissolved, as sucrose', 'g/L'),
    sugarGPerL: figure('Fermentable sugar', 'g/L'),
    potentialAlcoholPctVol: figure('Potential alcohol at 16.83 g/L per % vol', '% vol'),
    potentialAlcoholManualPctVol: figure('Potential alcohol, 0.059 x sugar', '% vol'),
  }),
  run: ({ value, unit, baumeModulus, sugarConvention }) => {
    const modulus = Number(baumeModulus) as BaumeModulus
    const at = brixOf(value, unit, modulus, sugarConvention)
    const sugar = sugarOfBrix(at, sugarConvention)
    const oechsle = oechsleOfBrix(at)
    return {
      result: {
        brix: at,
        sg: sgOfBrix(at),
        densityKgPerM3: densityOfBrix(at),
        oechsle,
        baume: baumeOfBrix(at, modulus),
        kmw: kmwOfOechsle(oechsle),
        solidsGPerL: solidsGPerL(at),
        sugarGPerL: sugar,
        potentialAlcoholPctVol: potentialAlcoholPctVol(sugar),
        potentialAlcoholManualPctVol: potentialAlcoholPctVol(sugar, 'manual-0059'),
      },
      steps: [
        `${value} ${unit} = ${fixed(at, 2)} Brix`,
        `density at ${fixed(at, 2)} Brix: ${fixed(densityOfBrix(at), 2)} kg/m3, SG ${fixed(sgOfBrix(at), 5)}`,
        `Baume = ${modulus} - ${modulus} / SG = ${fixed(baumeOfBrix(at, modulus), 2)}`,
        sugarConvention === 'oechsle'
          ? `sugar = 2.66 x ${fixed(oechsle)} - 30 = ${fixed(sugar)} g/L`
          : `sugar = 0.93 x ${fixed(solidsGPerL(at))} = ${fixed(sugar)} g/L`,
      ],
      warnings: ['The two sugar conventions lie 0.5 % vol apart at 22 Brix.'],
    }
  },
})

function brixOf(
  value: number,
  unit: (typeof UNITS)[number],
  modulus: BaumeModulus,
  convention: SugarConvention,
): number {
  switch (unit) {
    case 'brix':
      return value
    case 'sg':
      return brixOfSg(value)
    case 'density':
      return brixOfDensity(value)
    case 'oechsle':
      return brixOfOechsle(value)
    case 'baume':
      return brixOfBaume(value, modulus)
    case 'kmw':
      return brixOfOechsle(oechsleOfKmw(value))
    case 'sugar':
      return brixOfSugar(value, convention)
  }
}

const potentialAlcohol = calculation({
  name: 'potential-alcohol',
  title: 'Potential alcohol',
  topic: 'sugar',
  source: 'EU/OIV 16.83 g/L per % vol (from memory); 0.059 of an instrument manual; stoichiometry',
  status: 'memory',
  input: z.object({
    sugarGPerL,
    convention: pick('Grams of sugar for 1 % vol', ALCOHOL_CONVENTIONS, 'oiv-1683').default('oiv-1683'),
  }),
  output: z.object({
    alcoholPctVol: figure('Potential alcohol', '% vol'),
    sugarPerPctGPerL: figure('Sugar for 1 % vol', 'g/L'),
    ethanolGPerL: figure('Ethanol', 'g/L'),
  }),
  run: ({ sugarGPerL: sugar, convention }) => {
    const alcohol = potentialAlcoholPctVol(sugar, convention)
    return {
      result: {
        alcoholPctVol: alcohol,
        sugarPerPctGPerL: SUGAR_PER_PCT[convention],
        ethanolGPerL: ethanolGPerL(Math.min(25, alcohol)),
      },
      steps: [`${sugar} g/L / ${fixed(SUGAR_PER_PCT[convention], 2)} = ${fixed(alcohol, 2)} % vol (${convention})`],
    }
  },
})

const hydrometer = calculation({
  name: 'hydrometer',
  title: 'Hydrometer brought to its temperature',
  topic: 'sugar',
  source: 'Cubic in degrees Fahrenheit of published hydrometer corrections',
  status: 'derived',
  input: z.object({
    sgRead: num('Specific gravity as read', '', 0.98, 1.2, 1.09),
    tempC: num('Temperature of the sample', 'C', 0, 40, 15),
    calibratedC: num('Temperature the hydrometer is made for', 'C', 10, 25, 20).default(20),
  }),
  output: z.object({ sg: figure('Corrected specific gravity', ''), brix: figure('Brix', 'Brix') }),
  run: ({ sgRead, tempC: t, calibratedC }) => {
    const sg = hydrometerAt20(sgRead, t, calibratedC)
    return {
      result: { sg, brix: brixOfSg(sg) },
      steps: [`${sgRead} x f(${t} C) / f(${calibratedC} C) = ${fixed(sg, 5)} = ${fixed(brixOfSg(sg), 2)} Brix`],
    }
  },
})

const refractometer = calculation({
  name: 'refractometer',
  title: 'Refractometer brought to 20 C',
  topic: 'sugar',
  source: 'OIV-MA-AS2-02 Table I (10-17 C); 25 and 30 C from the international table of 1936, from memory',
  status: 'source',
  input: z.object({
    readingPct: num('Reading', '% mass', 10, 25, 20),
    tempC: num('Temperature of the sample', 'C', 10, 30, 15),
    alcoholPctVol: alcoholPctVol.default(0),
  }),
  output: z.object({ correctionPct: figure('To add', '% mass'), brix: figure('Brix at 20 C', 'Brix') }),
  run: ({ readingPct, tempC: t, alcoholPctVol: alcohol }) => {
    const answer = refractometerBrix(readingPct, t, alcohol)
    if (!answer.ok)
      throw new RangeError(`alcoholPctVol is ${alcohol}, expected 0 to 0.2: alcohol bends light too, use a hydrometer`)
    const correction = refractometerCorrection(readingPct, t)
    return {
      result: { correctionPct: correction, brix: answer.value },
      steps: [
        `${readingPct} ${correction < 0 ? '-' : '+'} ${fixed(Math.abs(correction), 2)} = ${fixed(answer.value, 2)} Brix`,
      ],
    }
  },
})

const leftSugar = calculation({
  name: 'sugar-left',
  title: 'Sugar left in a fermenting must, from a hydrometer',
  topic: 'sugar',
  source: 'Sum of Tabarie, constants from memory; about 3 g/L',
  status: 'memory',
  input: z.object({
    startBrix: brix,
    sgRead: num('Specific gravity as read now', '', 0.98, 1.2, 1.02),
    tempC: num('Temperature of the sample', 'C', 0, 40, 20).default(20),
  }),
  output: z.object({
    sugarGPerL: figure('Sugar left', 'g/L'),
    alcoholPctVol: figure('Alcohol made', '% vol'),
    sgAt20: figure('Specific gravity at 20 C', ''),
  }),
  run: ({ startBrix, sgRead, tempC: t }) => {
    const sg = hydrometerAt20(sgRead, t)
    const left = sugarLeft({ startBrix }, sg)
    return {
      result: { sugarGPerL: left.sugarGPerL, alcoholPctVol: left.alcoholPctVol, sgAt20: sg },
      steps: [
        `${sgRead} at ${t} C = ${fixed(sg, 4)} at 20 C`,
        `SG = SG of alcohol + SG of extract - 1, solved: ${fixed(left.sugarGPerL)} g/L sugar, ${fixed(left.alcoholPctVol)} % vol`,
      ],
    }
  },
})

export const sugarCalculations = [convertSugar, potentialAlcohol, hydrometer, refractometer, leftSugar]
