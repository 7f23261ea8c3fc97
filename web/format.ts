/** What people read: dates in the cellar's zone and the person's language, quantities in the cellar's units. */
import {
  baumeOfBrix,
  brixOfBaume,
  brixOfDensity,
  brixOfOechsle,
  densityOfBrix,
  kmwOfOechsle,
  oechsleOfBrix,
  oechsleOfKmw,
} from '../api/cellar/sugar.ts'
import {
  celsiusOfF,
  fahrenheitOfC,
  G_PER_OUNCE,
  G_PER_POUND,
  gallonsOfL,
  L_PER_US_GALLON,
  litresOfGallons,
  ML_PER_US_FLUID_OUNCE,
} from '../api/cellar/units.ts'
import { later } from './timeline/later.ts'
import { dayOf, msOf, noonOf, shownMs } from './wall-clock.ts'
import { dayWritten, figureWritten, timeWritten } from './written.ts'

export { addDays, dayOf, momentOfWall, msOf, startOfDay, wallOfMoment } from './wall-clock.ts'

import type { CellarWire } from '../api/wire.ts'

export type Measures = Pick<CellarWire, 'zone' | 'units' | 'sugarUnit' | 'language'>
export type SugarUnit = CellarWire['sugarUnit']

/** How one person of one cellar reads. Made once per cellar and person, each form of a date when first written: they are dear to build. */
export function createFormat(measures: Measures, reads: string = measures.language) {
  const { zone, units, sugarUnit } = measures
  // English is written two ways: a cellar that counts in gallons writes months first.
  const language = reads === 'en' ? (units === 'us' ? 'en-US' : 'en-GB') : reads
  const dateIn = (options: Intl.DateTimeFormatOptions) => {
    const format = later(() => new Intl.DateTimeFormat(language, { timeZone: zone, ...options }))
    return (moment: string | number) => format().format(msOf(moment))
  }
  const shown = (moment: string | number) => shownMs(msOf(moment), zone)
  const time = (moment: string | number) => timeWritten(shown(moment))
  const otherShort = dateIn({ weekday: 'short', day: 'numeric', month: 'short' })
  const otherLong = dateIn({ weekday: 'long', day: 'numeric', month: 'long' })
  const dayMonth = (moment: string | number) => dayWritten(language, 'short', shown(moment)) ?? otherShort(moment)
  const dayLong = (moment: string | number) => dayWritten(language, 'long', shown(moment)) ?? otherLong(moment)
  const dayYear = dateIn({ day: 'numeric', month: 'short', year: 'numeric' })
  const weekday = dateIn({ weekday: 'short' })
  const numbers = [0, 1, 2, 3].map((places) => {
    const format = later(
      () => new Intl.NumberFormat(language, { maximumFractionDigits: places, minimumFractionDigits: 0 }),
    )
    return (value: number) => format().format(value)
  })
  const number = (value: number, places = 0) => {
    const most = Math.min(places, 3)
    return figureWritten(language, value, most) ?? numbers[most]?.(value) ?? String(value)
  }
  const us = units === 'us'

  return {
    zone,
    language,
    units,
    sugarUnit,
    number,
    time,
    dayMonth,
    dayLong,
    dayYear,
    weekday,
    /** `Tue 23 Mar 08:00` */
    moment: (moment: string | number) => `${dayMonth(moment)} ${time(moment)}`,
    /** The cellar's day of a moment, `2027-03-23`. */
    dayOf: (moment: string | number) => dayOf(moment, zone),
    /** `08:00-09:30`, with the day where it ends on another. */
    span: (from: string, to: string) =>
      dayOf(from, zone) === dayOf(to, zone)
        ? `${time(from)}–${time(to)}`
        : `${time(from)} – ${dayMonth(to)} ${time(to)}`,
    /** A day without a time, as written in the cellar. */
    day: (on: string) => dayMonth(noonOf(on, zone)),
    dayWithYear: (on: string) => dayYear(noonOf(on, zone)),
    volume: (volumeL: number) => (us ? `${number(gallonsOfL(volumeL))} gal` : `${number(volumeL)} L`),
    volumeUnit: us ? 'US gal' : 'L',
    volumeShown: (volumeL: number) => (us ? gallonsOfL(volumeL) : volumeL),
    volumeL: (shown: number) => (us ? litresOfGallons(shown) : shown),
    /** An amount to weigh or measure out, as the cellar's scales and jugs show it. */
    dose: (amount: number, unit: DoseUnit) => {
      const scale = doseScale(amount, unit, us)
      const shown = amount / scale.per
      return `${number(shown, shown < 10 ? 2 : shown < 100 && us ? 1 : 0)} ${scale.unit}`
    },
    /** The unit a dose of this size is entered in, and how many of the stored unit it holds. */
    doseScale: (amount: number, unit: DoseUnit) => doseScale(amount, unit, us),
    temp: (tempC: number) => (us ? `${number(fahrenheitOfC(tempC), 1)} °F` : `${number(tempC, 1)} °C`),
    tempUnit: us ? '°F' : '°C',
    tempShown: (tempC: number) => (us ? fahrenheitOfC(tempC) : tempC),
    tempC: (shown: number) => (us ? celsiusOfF(shown) : shown),
    /** Sugar of a must or wine, in the cellar's unit. */
    sugar: (brix: number) =>
      `${number(sugarShown(brix, sugarUnit), SUGAR_PLACES[sugarUnit])} ${SUGAR_LABEL[sugarUnit]}`,
    sugarLabel: SUGAR_LABEL[sugarUnit],
    /** A whisker in days: `1–6 Apr`, or one day where they agree. */
    dayRange: (from: string, to: string) => {
      const short = new Intl.DateTimeFormat(language, { timeZone: zone, day: 'numeric', month: 'short' })
      return short.formatRange(msOf(from), msOf(to))
    },
  }
}

export type Format = ReturnType<typeof createFormat>

type DoseUnit = 'g' | 'kg' | 'mL' | 'L'

/** Under a pound in ounces, under a gallon in fluid ounces. */
function doseScale(amount: number, unit: DoseUnit, us: boolean): { readonly unit: string; readonly per: number } {
  if (!us) return { unit, per: 1 }
  switch (unit) {
    case 'g':
      return amount < G_PER_POUND ? { unit: 'oz', per: G_PER_OUNCE } : { unit: 'lb', per: G_PER_POUND }
    case 'kg':
      return { unit: 'lb', per: G_PER_POUND / 1000 }
    case 'mL':
      return amount < L_PER_US_GALLON * 1000
        ? { unit: 'fl oz', per: ML_PER_US_FLUID_OUNCE }
        : { unit: 'US gal', per: L_PER_US_GALLON * 1000 }
    case 'L':
      return { unit: 'US gal', per: L_PER_US_GALLON }
  }
}

export const SUGAR_LABEL: Readonly<Record<SugarUnit, string>> = {
  brix: '°Bx',
  density: 'kg/m³',
  oechsle: '°Oe',
  baume: '°Bé',
  kmw: '°KMW',
}
const SUGAR_PLACES: Readonly<Record<SugarUnit, number>> = { brix: 1, density: 0, oechsle: 0, baume: 1, kmw: 1 }

export function sugarShown(brix: number, unit: SugarUnit): number {
  switch (unit) {
    case 'brix':
      return brix
    case 'density':
      return densityOfBrix(brix)
    case 'oechsle':
      return oechsleOfBrix(brix)
    case 'baume':
      return baumeOfBrix(brix)
    case 'kmw':
      return kmwOfOechsle(oechsleOfBrix(brix))
  }
}

export function brixOfShown(shown: number, unit: SugarUnit): number {
  switch (unit) {
    case 'brix':
      return shown
    case 'density':
      return brixOfDensity(shown)
    case 'oechsle':
      return brixOfOechsle(shown)
    case 'baume':
      return brixOfBaume(shown)
    case 'kmw':
      return brixOfOechsle(oechsleOfKmw(shown))
  }
}

/** `1 h 30 min`, `45 min`, `3 days`. */
export function duration(min: number): string {
  const whole = Math.round(Math.abs(min))
  if (whole < 60) return `${whole} min`
  if (whole < 48 * 60) {
    const rest = whole % 60
    return rest === 0 ? `${Math.floor(whole / 60)} h` : `${Math.floor(whole / 60)} h ${rest} min`
  }
  return `${Math.round(whole / 1440)} days`
}

/** The screen of one task on the floor. Its key is made of lot, step and count; so is its address. */
export const taskHref = (key: string): string => `/today/${key.split('/').map(encodeURIComponent).join('/')}`
