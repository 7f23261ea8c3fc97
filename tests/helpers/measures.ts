import { malolacticChange } from '../../api/cellar/acid.ts'
import { DAP_NITROGEN_SHARE, dapG, metabisulphiteG, yeastG } from '../../api/cellar/addition.ts'
import { type AlcoholConvention, potentialAlcoholPctVol, SUGAR_PER_PCT } from '../../api/cellar/alcohol.ts'
import { COLD_DAYS_AT_MINUS_4, coldTempC } from '../../api/cellar/cold.ts'
import {
  cellYield,
  ethanolRateMax,
  growthMax,
  K_N,
  K_S,
  killRate,
  NITROGEN_CAP_MG_PER_L,
  Y_ES,
} from '../../api/cellar/coleman.ts'
import { LIFT_CONSTANT_KG, limitOf } from '../../api/cellar/exposure.ts'
import { fermentCurve, hourAtSugar, sugarAt } from '../../api/cellar/ferment-curve.ts'
import { bentonitePlan } from '../../api/cellar/fining.ts'
import {
  CO2_G_PER_G_SUGAR,
  co2LPerL,
  co2M3PerH,
  co2PpmAtOxygen,
  freshAirM3PerH,
  MOLAR_VOLUME_20C_L,
  mgPerM3OfPpm,
} from '../../api/cellar/gas.ts'
import {
  FERMENTATION_KJ_PER_KG_SUGAR,
  fermentationHeatKJ,
  fermentationKW,
  risePerBrix,
  specificHeat,
} from '../../api/cellar/heat.ts'
import { hydrometerAt20, refractometerCorrection } from '../../api/cellar/instrument.ts'
import { malolacticScore, malolacticWeeks } from '../../api/cellar/malolactic.ts'
import { DAP_LIMITS, type DapRegime, YAN_MIN_WHITE_MG_PER_L, yanMgPerL, yanWanted } from '../../api/cellar/nutrient.ts'
import { TURBIDITY_RANGES } from '../../api/cellar/settling.ts'
import {
  baumeOfBrix,
  brixOfSg,
  densityOfBrix,
  oechsleOfBrix,
  oechsleOfKmw,
  sgOfBrix,
  solidsGPerL,
  sugarOfBrix,
} from '../../api/cellar/sugar.ts'
import { freeSo2Needed, molecularShare, molecularSo2, type PkChoice } from '../../api/cellar/sulfur.ts'
import { so2Dose } from '../../api/cellar/sulfur-dose.ts'
import { type So2Regime, totalSo2Limit } from '../../api/cellar/sulfur-limits.ts'
import { oivPk, oivPkTable } from '../../api/cellar/sulfur-oiv.ts'
import { evaporationPctPerYear, toppingPlan } from '../../api/cellar/topping.ts'
import { acidMeqPerL, gPerLOfPoundsPer1000Gallons, litresPerTonne, MOLAR } from '../../api/cellar/units.ts'
import {
  barrelSurfaceM2,
  barrelVolumeL,
  MEASURED_BARREL_OXYGEN,
  relativeSurface,
  scaledOxygen,
  surfaceCm2PerL,
} from '../../api/cellar/wood.ts'
import { rehydration } from '../../api/cellar/yeast.ts'

type Input = Readonly<Record<string, number | string>>
type Measure = (input: Input) => number | string

const n = (input: Input, name: string): number => {
  const value = input[name]
  if (typeof value !== 'number') throw new Error(`${name} is ${value}, expected a number`)
  return value
}
const opt = (input: Input, name: string, usual: number): number => (name in input ? n(input, name) : usual)
const s = (input: Input, name: string): string => String(input[name])

/** The bare system as printed: no cap on nitrogen, any pace, one temperature or a change after 72 h. */
const bareCurve = (i: Input) =>
  fermentCurve(
    {
      sugarGPerL: n(i, 'sugarGPerL'),
      yanMgPerL: n(i, 'yanMgPerL'),
      yeastGPerL: n(i, 'yeastGPerL'),
      tempPlan:
        'laterTempC' in i
          ? [
              { hour: 0, tempC: n(i, 'tempC') },
              { hour: 72, tempC: n(i, 'tempC') },
              { hour: 72, tempC: n(i, 'laterTempC') },
            ]
          : n(i, 'tempC'),
      startH: 0,
      pace: opt(i, 'pace', 1),
      tail: 1,
      yanCapMgPerL: Number.POSITIVE_INFINITY,
    },
    2400,
  )
const dryHours = (i: Input): number => hourAtSugar(bareCurve(i), 2) ?? Number.POSITIVE_INFINITY

const fastestDay: Measure = (i) => {
  const curve = bareCurve(i)
  const hours = Array.from({ length: 4000 }, (_, k) => k * 0.1)
  return 24 * Math.max(...hours.map((h) => (sugarAt(curve, h) - sugarAt(curve, h + 0.1)) / 0.1))
}

const conditions = (i: Input) => ({
  alcoholPctVol: n(i, 'alcoholPctVol'),
  pH: n(i, 'pH'),
  freeSo2MgPerL: n(i, 'freeSo2MgPerL'),
  totalSo2MgPerL: n(i, 'totalSo2MgPerL'),
  tempC: n(i, 'tempC'),
  malicGPerL: n(i, 'malicGPerL'),
  maxBrixPerDay: opt(i, 'maxBrixPerDay', 1.5),
})

const pk = (i: Input): PkChoice => (i.pK === 1.77 ? 1.77 : 1.81)

/** One entry for each kind of published value; rows of the values files name these. */
export const measures: Readonly<Record<string, Measure>> = {
  growthMax: (i) => growthMax(n(i, 'tempC')),
  ethanolRateMax: (i) => ethanolRateMax(n(i, 'tempC')),
  killRate: (i) => killRate(n(i, 'tempC')),
  constantKN: () => K_N,
  constantKS: () => K_S,
  constantYES: () => Y_ES,
  cellYield: (i) => cellYield(n(i, 'yanMgPerL')),
  growthRatio35to11: () => growthMax(35) / growthMax(11),
  killRatio35to11: () => killRate(35) / killRate(11),
  nitrogenPeak: () => NITROGEN_CAP_MG_PER_L,
  dryHours,
  dryDays: (i) => dryHours(i) / 24,
  dryDaysWarmedAt72h: (i) => dryHours(i) / 24,
  restAfter100Days: (i) => sugarAt(bareCurve(i), 2400),
  sugarOnDay: (i) => sugarAt(bareCurve(i), 24 * n(i, 'day')),
  fastestDay,

  freeSo2Needed: (i) => freeSo2Needed(n(i, 'molecularMgPerL'), n(i, 'pH'), pk(i)),
  molecularPct: (i) => 100 * molecularShare(n(i, 'pH')),
  molecularSo2: (i) => molecularSo2(n(i, 'freeSo2MgPerL'), n(i, 'pH')),
  molecularSo2Oiv: (i) =>
    molecularSo2(n(i, 'freeSo2MgPerL'), n(i, 'pH'), {
      alcoholPctVol: n(i, 'alcoholPctVol'),
      tempC: n(i, 'tempC'),
      ionicStrength: n(i, 'ionicStrength'),
    }),
  oivPkTable: (i) => oivPkTable(n(i, 'alcoholPctVol'), n(i, 'tempC')),
  oivPk: (i) => oivPk(n(i, 'alcoholPctVol'), n(i, 'tempC'), n(i, 'ionicStrength')),
  metabisulphiteG: (i) => metabisulphiteG(n(i, 'so2MgPerL'), n(i, 'volumeL')),
  additionWithThirdBound: (i) =>
    so2Dose({
      volumeL: 1000,
      pH: 3.2,
      freeSo2MgPerL: n(i, 'freeSo2MgPerL'),
      molecularMgPerL: molecularSo2(n(i, 'targetFreeMgPerL'), 3.2),
      age: 'aged',
    }).addMgPerL,
  totalSo2Limit: (i) => totalSo2Limit(s(i, 'regime') as So2Regime, n(i, 'sugarGPerL')).totalMgPerL,

  densityOfBrix: (i) => densityOfBrix(n(i, 'brix')),
  sgOfBrix: (i) => sgOfBrix(n(i, 'brix')),
  brixOfSg: (i) => brixOfSg(n(i, 'sg')),
  oechsleOfBrix: (i) => oechsleOfBrix(n(i, 'brix')),
  baumeOfBrix: (i) => baumeOfBrix(n(i, 'brix')),
  oechsleOfKmw: (i) => oechsleOfKmw(n(i, 'kmw')),
  solidsGPerL: (i) => solidsGPerL(n(i, 'brix')),
  sugarOfBrix: (i) => sugarOfBrix(n(i, 'brix')),
  potentialAlcoholManual: (i) => potentialAlcoholPctVol(sugarOfBrix(n(i, 'brix')), 'manual-0059'),
  potentialAlcoholOiv: (i) => potentialAlcoholPctVol(sugarOfBrix(n(i, 'brix')), 'oiv-1683'),
  sugarPerPct: (i) => SUGAR_PER_PCT[s(i, 'convention') as AlcoholConvention],
  hydrometerAt20: (i) => hydrometerAt20(n(i, 'sgRead'), n(i, 'tempC'), n(i, 'calibratedC')),
  refractometerCorrection: (i) => refractometerCorrection(n(i, 'readingPct'), n(i, 'tempC')),

  specificHeat: (i) => specificHeat(n(i, 'brix'), n(i, 'tempC'), n(i, 'purity')),
  risePerBrix: (i) => risePerBrix(n(i, 'brix'), n(i, 'tempC')),
  fermentationKW: (i) => fermentationKW(n(i, 'volumeL'), n(i, 'sugarGPerLPerDay')),
  fermentationHeatKcal: (i) => fermentationHeatKJ(n(i, 'volumeL'), n(i, 'sugarGPerL')) / 4.184,
  fermentationKJPerMol: () => (FERMENTATION_KJ_PER_KG_SUGAR * MOLAR.hexose) / 1000,
  co2LPerL: (i) => co2LPerL(n(i, 'sugarGPerL'), n(i, 'realised')),
  co2GPerGSugar: () => CO2_G_PER_G_SUGAR,
  freshAirOfFerment: (i) => freshAirM3PerH(co2M3PerH(n(i, 'volumeL'), n(i, 'sugarGPerLPerDay')), n(i, 'limitPpm')),
  molarVolume20C: () => MOLAR_VOLUME_20C_L,
  co2PpmAtOxygen: (i) => co2PpmAtOxygen(n(i, 'oxygenPct')),
  mgPerM3OfPpm: (i) => mgPerM3OfPpm(n(i, 'ppm'), n(i, 'molarMass')),
  exposureLimit: (i) => limitOf(s(i, 'id')).value,
  liftConstantKg: () => LIFT_CONSTANT_KG,

  barrelSurfaceM2: (i) => barrelSurfaceM2(n(i, 'volumeL')),
  surfaceCm2PerL: (i) => surfaceCm2PerL(n(i, 'volumeL')),
  relativeSurface: (i) => relativeSurface(n(i, 'volumeL')),
  barrelVolumeL: (i) => barrelVolumeL(n(i, 'lengthM'), n(i, 'bilgeM'), n(i, 'headM')),
  scaledOxygen: (i) => scaledOxygen(n(i, 'at225'), n(i, 'volumeL')),
  measuredOxygen: (i) => MEASURED_BARREL_OXYGEN.find((m) => m.what === s(i, 'what'))?.mgPerLPerYear ?? Number.NaN,
  litresPerTonne: (i) => litresPerTonne(n(i, 'gallonsPerShortTon')),
  yearlyLossL: (i) =>
    (evaporationPctPerYear(n(i, 'humidityPct'), n(i, 'tempC'), n(i, 'barrelL')) * n(i, 'barrelL')) / 100,
  monthlyToppingL: (i) => toppingPlan(1, n(i, 'barrelL'), n(i, 'humidityPct'), n(i, 'tempC'), 30.4).perBarrelL,

  dapNitrogenShare: () => DAP_NITROGEN_SHARE,
  dapG: (i) => dapG(n(i, 'yanMgPerL'), n(i, 'volumeL')),
  dapLimitAsNitrogen: (i) => DAP_LIMITS[s(i, 'regime') as DapRegime].gPerL * DAP_NITROGEN_SHARE * 1000,
  dapNitrogenOfPoundsPer1000Gal: (i) => gPerLOfPoundsPer1000Gallons(n(i, 'pounds')) * DAP_NITROGEN_SHARE * 1000,
  dapNitrogenMgPerL: (i) => n(i, 'gPerHL') * 10 * DAP_NITROGEN_SHARE,
  yanMgPerL: (i) => yanMgPerL(n(i, 'ammoniaMgPerL'), n(i, 'alphaAminoMgPerL')),
  yanMinWhite: () => YAN_MIN_WHITE_MG_PER_L,
  yanWanted: (i) => yanWanted(n(i, 'brix')),
  yeastG: (i) => yeastG(n(i, 'volumeL')),
  rehydrationWaterL: (i) => rehydration(n(i, 'yeastG'), 18).waterL,
  rehydrationDoublings: (i) => rehydration(500, n(i, 'mustC'), n(i, 'waterC')).afterDoublingC.length,
  lacticPerMalic: () => malolacticChange(1).lacticGPerL,
  co2PerMalic: () => malolacticChange(1).co2GPerL,
  acidFallPerMalic: () => malolacticChange(1).acidFallGPerLTartaric,
  acidFallPerMalicSulfuric: () => (malolacticChange(1).acidFallGPerLTartaric * MOLAR.sulfuric) / MOLAR.tartaric,
  malolacticAcidFall: (i) => malolacticChange(n(i, 'malicGPerL')).acidFallGPerLTartaric,
  acidMeqPerL: (i) => acidMeqPerL(n(i, 'acidGPerLTartaric')),
  bentoniteWaterMaxL: (i) => bentonitePlan(n(i, 'doseGPerL'), n(i, 'volumeL')).waterMaxL,
  malolacticPoints: (i) => malolacticScore(conditions(i)).points,
  malolacticWeeks: (i) => malolacticWeeks(conditions(i)).likely,

  turbidityRange: (i) => {
    const range = TURBIDITY_RANGES[n(i, 'index')]
    return range ? `${range.low}-${range.high}` : 'none'
  },
  coldDays: () => COLD_DAYS_AT_MINUS_4,
  coldTempC: (i) => coldTempC(n(i, 'alcoholPctVol')),
}
