import { notNegative, within } from './guard.ts'
import { MOLAR } from './units.ts'

/** Molar volume of an ideal gas at 20 C and 101.325 kPa: 8.314462618 x 293.15 / 101.325 (CODATA 2018). */
export const MOLAR_VOLUME_20C_L = (8.314462618 * 293.15) / 101.325
/** C6H12O6 -> 2 C2H5OH + 2 CO2. */
export const CO2_G_PER_G_SUGAR = (2 * MOLAR.carbonDioxide) / MOLAR.hexose
/** Outdoor air, ppm as a share; what fresh air already holds. */
const FRESH_AIR_SHARE = 0.0004

/** Litres of gas (20 C, 1 atm) from a litre of must. `realised` is the part of the sugar that goes this way, 0.95. */
export function co2LPerL(sugarGPerL: number, realised = 0.95): number {
  notNegative('sugarGPerL', sugarGPerL, 'g/L')
  within('realised', realised, 0.5, 1)
  return ((sugarGPerL * realised * CO2_G_PER_G_SUGAR) / MOLAR.carbonDioxide) * MOLAR_VOLUME_20C_L
}

/** m3 of CO2 an hour from a ferment. */
export function co2M3PerH(volumeL: number, sugarGPerLPerDay: number): number {
  notNegative('volumeL', volumeL, 'L')
  return (volumeL / 1000 / 24) * co2LPerL(sugarGPerLPerDay, 1)
}

/**
 * Fresh air that keeps a room at or under a CO2 level, steady state, well mixed: G / (limit - outdoor). CO2 is heavier than air
 * and lies in pits and low rooms: air alone is not enough there, measure.
 */
export function freshAirM3PerH(co2M3: number, limitPpm = 5000): number {
  notNegative('co2M3', co2M3, 'm3/h')
  within('limitPpm', limitPpm, 1000, 30_000, 'ppm')
  return co2M3 / (limitPpm / 1e6 - FRESH_AIR_SHARE)
}

/** ppm of CO2 in a closed room after some hours without air. */
export function closedRoomPpm(co2M3: number, hours: number, roomM3: number): number {
  notNegative('co2M3', co2M3, 'm3/h')
  notNegative('hours', hours, 'h')
  within('roomM3', roomM3, 1, 1e6, 'm3')
  const added = (co2M3 * hours) / roomM3
  return 1e6 * ((FRESH_AIR_SHARE + added) / (1 + added))
}

/** ppm of CO2 that would push oxygen from 20.9 % down to a level: 67 000 ppm for 19.5 %. An oxygen alarm is no CO2 alarm. */
export const co2PpmAtOxygen = (oxygenPct: number): number =>
  1e6 * (1 - within('oxygenPct', oxygenPct, 0, 20.9, '%') / 20.9)

/** mg/m3 of a gas at 25 C and 1 atm, the basis of US limit tables. */
export const mgPerM3OfPpm = (ppm: number, molarMass: number): number => (ppm * molarMass) / 24.45
