import * as fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Temporal } from '../../api/time.ts'
import { addDays, dayOf, momentOfWall, msOf, noonOf, startOfDay, wallOfMoment } from '../../web/wall-clock.ts'

const ZONES = [
  'Pacific/Auckland',
  'Europe/Vienna',
  'America/Los_Angeles',
  'Australia/Adelaide',
  'America/Santiago',
  'Africa/Johannesburg',
  'Australia/Lord_Howe',
  'UTC',
]
const anyZone = fc.constantFrom(...ZONES)
/** 2000 to 2040, to the minute. */
const anyMin = fc.integer({ min: 15_778_080, max: 36_816_480 })
const anyDay = fc.integer({ min: 10_957, max: 25_567 }).map((days) => addDays('1970-01-01', days))

const calendars = globalThis as { Temporal?: unknown }

describe.each(['its formats alone', 'a calendar'])('the wall clock of a browser with %s', (browser) => {
  const had = calendars.Temporal
  beforeAll(() => {
    if (browser === 'a calendar') calendars.Temporal = Temporal
    else delete calendars.Temporal
  })
  afterAll(() => {
    if (had === undefined) delete calendars.Temporal
    else calendars.Temporal = had
  })

  it('shows the spring gap of Auckland as the hour after, and the hour that comes twice as its first', () => {
    // 26 September 2027, 02:00 is followed by 03:00; 4 April 2027, 03:00 is followed by 02:00 (IANA zone data).
    expect(momentOfWall('2027-09-26T02:30', 'Pacific/Auckland')).toBe('2027-09-25T14:30:00Z')
    expect(momentOfWall('2027-04-04T02:30', 'Pacific/Auckland')).toBe('2027-04-03T13:30:00Z')
  })

  it('for any moment says the same as the calendar library', () => {
    fc.assert(
      fc.property(anyMin, anyZone, (min, zone) => {
        const at = Temporal.Instant.fromEpochMilliseconds(min * 60_000)
        const there = at.toZonedDateTimeISO(zone)
        expect(dayOf(at.toString(), zone)).toBe(there.toPlainDate().toString())
        expect(wallOfMoment(at.toString(), zone)).toBe(there.toPlainDateTime().toString({ smallestUnit: 'minute' }))
        const wall = wallOfMoment(at.toString(), zone)
        expect(momentOfWall(wall, zone)).toBe(
          Temporal.PlainDateTime.from(wall).toZonedDateTime(zone).toInstant().toString(),
        )
      }),
      { numRuns: 1_000 },
    )
  })

  it('for any day begins it when the calendar library does', () => {
    fc.assert(
      fc.property(anyDay, anyZone, fc.integer({ min: -400, max: 400 }), (on, zone, days) => {
        const day = Temporal.PlainDate.from(on)
        expect(startOfDay(on, zone)).toBe(day.toZonedDateTime({ timeZone: zone }).toInstant().toString())
        expect(noonOf(on, zone)).toBe(day.toZonedDateTime({ timeZone: zone, plainTime: '12:00' }).epochMilliseconds)
        expect(addDays(on, days)).toBe(day.add({ days }).toString())
      }),
      { numRuns: 1_000 },
    )
  })

  it('takes no moment without its offset', () => {
    expect(() => msOf('2027-03-22T08:00')).toThrow(RangeError)
    expect(() => msOf('yesterday')).toThrow(RangeError)
    expect(msOf('2027-03-22T08:00:00+13:00')).toBe(Date.UTC(2027, 2, 21, 19))
  })
})
