import { notNegative, positive, within } from './guard.ts'
import { densityOfBrix } from './sugar.ts'

/** 24 kcal per mol of hexose (Goelzer 2009, excerpt) = 557.4 kJ per kg of sugar. Literature from memory: 83.6-105 kJ/mol. */
export const FERMENTATION_KJ_PER_KG_SUGAR = 557.4

/** J/(kg K) of a sugar solution: 4184 - 2971 w + 460 w purity + 7.5 w T. Sugar-liquor formula; 0-40 Brix, 0-60 C. */
export function specificHeat(brix: number, tempC: number, purity = 1): number {
  within('brix', brix, 0, 40, 'Brix')
  within('tempC', tempC, 0, 60, 'C')
  within('purity', purity, 0, 1)
  const w = brix / 100
  return 4184 - 2971 * w + 460 * w * purity + 7.5 * w * tempC
}

/** Heat of a ferment, kW, from its volume and sugar rate. Walls and pumps come on top. */
export function fermentationKW(volumeL: number, sugarGPerLPerDay: number): number {
  notNegative('volumeL', volumeL, 'L')
  notNegative('sugarGPerLPerDay', sugarGPerLPerDay, 'g/L/d')
  return ((volumeL * sugarGPerLPerDay) / 1000) * (FERMENTATION_KJ_PER_KG_SUGAR / 86_400)
}

/** All the heat a must will give, kJ. */
export const fermentationHeatKJ = (volumeL: number, sugarGPerL: number): number =>
  (notNegative('volumeL', volumeL, 'L') * notNegative('sugarGPerL', sugarGPerL, 'g/L') * FERMENTATION_KJ_PER_KG_SUGAR) /
  1000

/** Cooling power that moves a must from one temperature to another in a time. */
export function chillKW(volumeL: number, fromC: number, toC: number, hours: number, brix = 22): number {
  positive('volumeL', volumeL, 'L')
  within('fromC', fromC, -5, 45, 'C')
  within('toC', toC, -6, 45, 'C')
  positive('hours', hours, 'h')
  const massKg = (volumeL / 1000) * densityOfBrix(brix)
  const meanC = Math.max(0, (fromC + toC) / 2)
  return (massKg * specificHeat(brix, meanC) * Math.abs(fromC - toC)) / (hours * 3600 * 1000)
}

/** Rise of a must that keeps all its heat, per degree Brix fermented: about 1.5 K; textbooks say 1.3 with losses. */
export const risePerBrix = (brix = 22, tempC = 20): number =>
  (10 * FERMENTATION_KJ_PER_KG_SUGAR) / specificHeat(brix, tempC)

/** What a chiller gives to tanks: 85 % of its plate less what pipes and walls take. Common practice. */
export function chillerPoolKW(plateKW: number, standingKW = 0, usableShare = 0.85): number {
  positive('plateKW', plateKW, 'kW')
  return Math.max(0, plateKW * within('usableShare', usableShare, 0.3, 1) - notNegative('standingKW', standingKW, 'kW'))
}

export interface CoolingLoad {
  readonly name: string
  readonly fromHour: number
  /** kW in each hour from fromHour on. */
  readonly kW: readonly number[]
}

export interface CoolingHour {
  readonly hour: number
  readonly kW: number
  readonly shortKW: number
  /** Largest first. */
  readonly loads: readonly { readonly name: string; readonly kW: number }[]
}

/** Demand of all loads hour by hour against the pool. */
export function coolingByHour(loads: readonly CoolingLoad[], poolKW: number): readonly CoolingHour[] {
  notNegative('poolKW', poolKW, 'kW')
  if (loads.length === 0) return []
  const first = Math.min(...loads.map((l) => l.fromHour))
  const last = Math.max(...loads.map((l) => l.fromHour + l.kW.length))
  return Array.from({ length: last - first }, (_, at) => {
    const hour = first + at
    const active = loads
      .map((l) => ({ name: l.name, kW: l.kW[hour - l.fromHour] ?? 0 }))
      .filter((l) => l.kW > 0)
      .toSorted((a, b) => b.kW - a.kW)
    const kW = active.reduce((total, l) => total + l.kW, 0)
    return { hour, kW, shortKW: Math.max(0, kW - poolKW), loads: active }
  })
}

/** The load of a ferment from its fall of sugar day by day. */
export const fermentLoad = (
  name: string,
  fromHour: number,
  volumeL: number,
  sugarFallPerDay: readonly number[],
): CoolingLoad => ({
  name,
  fromHour,
  kW: sugarFallPerDay.flatMap((rate) => Array.from({ length: 24 }, () => fermentationKW(volumeL, Math.max(0, rate)))),
})
