import { describe, expect, it } from 'vitest'
import {
  addDays,
  brixOfShown,
  createFormat,
  dayOf,
  duration,
  momentOfWall,
  startOfDay,
  sugarShown,
  wallOfMoment,
} from '../../web/format.ts'

const metric = createFormat({ zone: 'Pacific/Auckland', units: 'metric', sugarUnit: 'brix', language: 'en' })
const american = createFormat({ zone: 'America/Los_Angeles', units: 'us', sugarUnit: 'brix', language: 'en' })

describe('dates', () => {
  it('are told in the cellar’s zone, whatever the device’s', () => {
    // Auckland is at +13 in March: 19:30 UTC is the next morning there.
    expect(metric.moment('2027-03-22T19:30:00Z')).toBe('Tue 23 Mar 08:30')
    expect(dayOf('2027-03-22T19:30:00Z', 'Pacific/Auckland')).toBe('2027-03-23')
    expect(american.time('2027-03-22T19:30:00Z')).toBe('12:30')
  })

  it('follow the person’s language', () => {
    const french = createFormat({ zone: 'Europe/Paris', units: 'metric', sugarUnit: 'density', language: 'en' }, 'fr')
    expect(french.dayLong('2026-10-06T06:00:00Z')).toBe('mardi 6 octobre')
  })

  it('name the day of the end only where it is another', () => {
    expect(metric.span('2027-03-22T19:00:00Z', '2027-03-22T21:30:00Z')).toBe('08:00–10:30')
    expect(metric.span('2027-03-22T19:00:00Z', '2027-03-23T19:00:00Z')).toBe('08:00 – Wed 24 Mar 08:00')
  })

  it('keep midnight a real moment where the clock skips or repeats', () => {
    // Chile leaves winter time at midnight: the day of 6 September 2026 begins at 01:00 -03:00.
    expect(startOfDay('2026-09-06', 'America/Santiago')).toBe('2026-09-06T04:00:00Z')
    expect(startOfDay('2027-03-28', 'Europe/Berlin')).toBe('2027-03-27T23:00:00Z')
    expect(addDays('2027-03-28', 1)).toBe('2027-03-29')
  })

  it('go from a wall clock to a moment and back', () => {
    for (const [wall, zone] of [
      ['2027-03-22T08:00', 'Pacific/Auckland'],
      ['2026-10-25T03:30', 'Europe/Berlin'],
      ['2027-07-01T23:15', 'America/Los_Angeles'],
    ] as const) {
      expect(wallOfMoment(momentOfWall(wall, zone), zone)).toBe(wall)
    }
  })
})

describe('quantities', () => {
  it('are litres and degrees C, or US gallons and degrees F', () => {
    expect(metric.volume(1840)).toBe('1,840 L')
    // 1 US gallon is 3.785411784 L (NIST SP 811, appendix B).
    expect(american.volume(3785.411784)).toBe('1,000 gal')
    expect(metric.temp(13.5)).toBe('13.5 °C')
    expect(american.temp(100)).toBe('212 °F')
  })

  it('weigh doses in grams, or in ounces and pounds', () => {
    expect(metric.dose(546, 'g')).toBe('546 g')
    expect(metric.dose(4.25, 'g')).toBe('4.25 g')
    // 1 lb is 453.59237 g, 16 oz; 1 US gallon 3.785411784 L, 128 fl oz (NIST SP 811, appendix B).
    expect(american.dose(453.59237, 'g')).toBe('1 lb')
    expect(american.dose(56.69904625, 'g')).toBe('2 oz')
    expect(american.dose(4.5359237, 'kg')).toBe('10 lb')
    expect(american.dose(295.735295625, 'mL')).toBe('10 fl oz')
    expect(american.dose(37.85411784, 'L')).toBe('10 US gal')
    // What is typed in the shown unit is stored in the dose's own.
    expect(2 * american.doseScale(40, 'g').per).toBeCloseTo(56.699, 3)
  })

  it('come back the same from every sugar scale', () => {
    for (const unit of ['brix', 'density', 'oechsle', 'baume', 'kmw'] as const) {
      for (const brix of [8, 15, 21, 24]) {
        expect(brixOfShown(sugarShown(brix, unit), unit)).toBeCloseTo(brix, 4)
      }
    }
  })

  it('say a length of time in the largest unit that is plain', () => {
    expect(duration(45)).toBe('45 min')
    expect(duration(90)).toBe('1 h 30 min')
    expect(duration(-120)).toBe('2 h')
    expect(duration(72 * 60)).toBe('3 days')
  })
})
