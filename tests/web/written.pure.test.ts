import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { dayWritten, figureWritten, namesWritten, timeWritten } from '../../web/written.ts'
import '../helpers/cases.ts'

const LANGUAGES = ['en-GB', 'en-US', 'es', 'fr', 'pt', 'it', 'de']
const DAY_MS = 86_400_000
const utc = (language: string, options: Intl.DateTimeFormatOptions) =>
  new Intl.DateTimeFormat(language, { timeZone: 'UTC', ...options })

describe.each(LANGUAGES)('what is written by hand in %s', (language) => {
  it('names every day of a leap year as the platform’s own formats do', () => {
    const short = utc(language, { weekday: 'short', day: 'numeric', month: 'short' })
    const long = utc(language, { weekday: 'long', day: 'numeric', month: 'long' })
    for (let ms = Date.UTC(2028, 0, 1); ms <= Date.UTC(2028, 11, 31); ms += DAY_MS) {
      expect(dayWritten(language, 'short', ms)).toBe(short.format(ms))
      expect(dayWritten(language, 'long', ms)).toBe(long.format(ms))
    }
  })

  it('names days and months alone likewise', () => {
    const names = (options: Intl.DateTimeFormatOptions, moments: readonly number[]) =>
      moments.map((ms) => utc(language, options).format(ms))
    const twelve = Array.from({ length: 12 }, (_, i) => Date.UTC(2026, i, 15))
    // 4 January 2026 is a Sunday.
    const seven = Array.from({ length: 7 }, (_, i) => Date.UTC(2026, 0, 4 + i))
    expect(namesWritten(language, 'months')).toEqual(names({ month: 'short' }, twelve))
    expect(namesWritten(language, 'longMonths')).toEqual(names({ month: 'long' }, twelve))
    expect(namesWritten(language, 'days')).toEqual(names({ weekday: 'short' }, seven))
  })

  it('tells every quarter of an hour of a day likewise', () => {
    const time = utc(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })
    for (let min = 0; min < 1440; min += 15) {
      expect(timeWritten(min * 60_000)).toBe(time.format(min * 60_000))
    }
  })

  it('writes figures likewise, and leaves the others to them', () => {
    const formats = [0, 1, 2, 3].map((places) => new Intl.NumberFormat(language, { maximumFractionDigits: places }))
    const figure = fc.oneof(
      fc.integer({ min: 0, max: 999_999 }),
      fc.integer({ min: 0, max: 999_000 }).map((n) => n / 1000),
      fc.integer({ min: 0, max: 9_990 }).map((n) => (n + 0.5) / 10),
      fc.double({ min: 1e-6, max: 999_999, noNaN: true }),
    )
    fc.assert(
      fc.property(figure, fc.integer({ min: 0, max: 3 }), (value, places) => {
        const written = figureWritten(language, value, places)
        expect(written).toBe(formats[places]?.format(value))
      }),
      { numRuns: 600 },
    )
    for (const large of [1_000_000, 999_999.5, -3, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(figureWritten(language, large, 0)).toBeUndefined()
    }
  })
})

it('what is written by hand knows no other language', () => {
  expect(dayWritten('sv', 'short', 0)).toBeUndefined()
  expect(namesWritten('sv', 'days')).toBeUndefined()
  expect(figureWritten('sv', 1.5, 1)).toBeUndefined()
})
