import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Temporal } from '../../api/time.ts'
import { dayIndex, isoOf, layDays, snapMs, wallMinute, wallMs } from '../../web/timeline/days.ts'
import { daysOn, draggedTo, type Move } from '../../web/timeline/move.ts'
import { daysShown, LONGEST_MS, msOf, panBy, SHORTEST_MS, timeScale, xOf, zoomAt } from '../../web/timeline/scale.ts'
import { layTicks } from '../../web/timeline/ticks.ts'
import { daysWords, wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR } from './timeline-cases.ts'

/** Days on which the clocks change, by the IANA rules in force: south, north, and one that skips midnight. */
const CHANGES = [
  { zone: 'Pacific/Auckland', spring: '2026-09-27', autumn: '2027-04-04' },
  { zone: 'Europe/Berlin', spring: '2027-03-28', autumn: '2026-10-25' },
  { zone: 'America/Santiago', spring: '2026-09-06', autumn: '2027-04-03' },
  { zone: 'America/Los_Angeles', spring: '2027-03-14', autumn: '2026-11-01' },
] as const

const startOf = (on: string, zone: string): number =>
  Temporal.PlainDate.from(on).toZonedDateTime(zone).epochMilliseconds
const around = (on: string, zone: string) => layDays(startOf(on, zone) - 5 * DAY, startOf(on, zone) + 6 * DAY, zone)
const heldAt = (startMs: number): Move =>
  ({
    ix: 0,
    fromMs: startMs,
    startMs,
    andFollows: true,
    window: { earliest: { ms: 0, why: '' }, latest: { ms: 9e15, why: '' } },
    verdict: { level: 'fine', words: '' },
  }) as Move

const anyScale = fc
  .record({
    fromMs: fc.integer({ min: Date.UTC(2020, 0), max: Date.UTC(2035, 0) }),
    spanMs: fc.integer({ min: SHORTEST_MS, max: LONGEST_MS }),
    widthPx: fc.integer({ min: 200, max: 4000 }),
    leftPx: fc.integer({ min: 0, max: 300 }),
  })
  .map(({ fromMs, spanMs, widthPx, leftPx }) => timeScale(fromMs, fromMs + spanMs, widthPx, leftPx))

describe('the scale', () => {
  it('gives back every moment it placed, to the millisecond', () => {
    fc.assert(
      fc.property(anyScale, fc.double({ min: -0.5, max: 1.5, noNaN: true }), (scale, share) => {
        const atMs = Math.round(scale.fromMs + share * (scale.toMs - scale.fromMs))
        expect(msOf(scale, xOf(scale, atMs))).toBe(atMs)
      }),
    )
  })

  it('gives back every pixel within a hundredth of one', () => {
    fc.assert(
      fc.property(anyScale, fc.double({ min: 0, max: 1, noNaN: true }), (scale, share) => {
        const x = scale.leftPx + share * scale.widthPx
        expect(Math.abs(xOf(scale, msOf(scale, x)) - x)).toBeLessThan(0.01)
      }),
    )
  })

  it('keeps the moment under the pointer there while it zooms, between a day and eighteen months', () => {
    fc.assert(
      fc.property(
        anyScale,
        fc.double({ min: 0.05, max: 20, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (scale, factor, share) => {
          const x = scale.leftPx + share * scale.widthPx
          const next = zoomAt(scale, factor, x)
          expect(Math.abs(xOf(next, msOf(scale, x)) - x)).toBeLessThan(1)
          expect(daysShown(next)).toBeGreaterThan(0.999)
          expect(daysShown(next)).toBeLessThan(549.001)
        },
      ),
    )
  })

  it('pans there and back', () => {
    fc.assert(
      fc.property(anyScale, fc.integer({ min: -3000, max: 3000 }), (scale, dx) => {
        expect(Math.abs(panBy(panBy(scale, dx), -dx).fromMs - scale.fromMs)).toBeLessThan(1)
      }),
    )
  })

  it('refuses a span without length', () => {
    expect(() => timeScale(5, 5, 100)).toThrow(/end after it starts/)
  })
})

describe.each(CHANGES)('in $zone', ({ zone, spring, autumn }) => {
  it.each([
    ['spring', spring, 23],
    ['autumn', autumn, 25],
  ] as const)('the day of the %s change is as long as it is', (_, on, hours) => {
    const days = around(on, zone)
    const index = dayIndex(days, startOf(on, zone))
    expect(((days.startMs[index + 1] as number) - (days.startMs[index] as number)) / HOUR).toBe(hours)
  })

  it.each([spring, autumn])('the axis names %s once and draws it in proportion', (on) => {
    const days = around(on, zone)
    const fromMs = startOf(on, zone) - 2 * DAY
    const scale = timeScale(fromMs, fromMs + 7 * DAY, 1400)
    const ticks = layTicks(days, scale, wordsFor('en', zone))
    const labels = ticks.lower.map((t) => t.label)
    expect(new Set(labels).size).toBe(labels.length)
    const widths = ticks.lines.slice(1).map((l, i) => Math.round((l.x - (ticks.lines[i]?.x ?? 0)) / (200 / 24)))
    expect(widths).toContain(on === spring ? 23 : 25)
    expect(widths.filter((w) => w !== 24)).toHaveLength(1)
  })

  it.each([spring, autumn])('every minute of %s is found again from its place', (on) => {
    const days = around(on, zone)
    const fromMs = startOf(on, zone)
    const scale = timeScale(fromMs - DAY, fromMs + 2 * DAY, 900, 176)
    for (let atMs = fromMs - 2 * HOUR; atMs < fromMs + 27 * HOUR; atMs += 60_000) {
      expect(msOf(scale, xOf(scale, atMs))).toBe(atMs)
      const local = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone)
      expect(Math.round(wallMinute(days, atMs))).toBe(local.hour * 60 + local.minute)
      expect(isoOf(days, dayIndex(days, atMs))).toBe(local.toPlainDate().toString())
    }
  })

  it('the same wall time two days on is two local days on, not 48 hours', () => {
    for (const on of [spring, autumn]) {
      const days = around(on, zone)
      const eightMs = wallMs(days, dayIndex(days, startOf(on, zone)) - 1, 8 * 60)
      const laterMs = daysOn(days, eightMs, 2)
      const later = Temporal.Instant.fromEpochMilliseconds(laterMs).toZonedDateTimeISO(zone)
      expect([later.toPlainDate().toString(), later.hour, later.minute]).toEqual([
        Temporal.PlainDate.from(on).add({ days: 1 }).toString(),
        8,
        0,
      ])
      expect((laterMs - eightMs) / HOUR).toBe(on === spring ? 47 : 49)
    }
  })

  it('taking hold and letting go without moving changes nothing, at any odd minute', () => {
    for (const on of [spring, autumn]) {
      const days = around(on, zone)
      for (let atMs = startOf(on, zone) - HOUR; atMs < startOf(on, zone) + 26 * HOUR; atMs += 7 * 60_000)
        for (const step of [15, 30, 60, 240])
          expect(draggedTo(days, heldAt(atMs), atMs + 12345, atMs + 12345, step)).toBe(atMs)
    }
  })

  it('snaps to a quarter of an hour that the wall clock shows', () => {
    for (const on of [spring, autumn]) {
      const days = around(on, zone)
      for (let atMs = startOf(on, zone) - HOUR; atMs < startOf(on, zone) + 26 * HOUR; atMs += 11 * 60_000) {
        const snapped = snapMs(days, atMs, 15)
        const local = Temporal.Instant.fromEpochMilliseconds(snapped).toZonedDateTimeISO(zone)
        expect(local.minute % 15).toBe(0)
        expect(Math.abs(snapped - atMs)).toBeLessThanOrEqual(7.5 * 60_000)
      }
    }
  })
})

/** Half hours, midnight skipped and shown twice, twice there and back in one year, and none at all. */
const ODD_ZONES = [
  'Australia/Lord_Howe',
  'Asia/Beirut',
  'America/Havana',
  'Africa/Casablanca',
  'Asia/Kathmandu',
  'Pacific/Chatham',
  'America/St_Johns',
  'Europe/London',
] as const

it.each(ODD_ZONES)('every day of five years begins in %s when the calendar library says so', (zone) => {
  const fromMs = Date.UTC(2024, 5, 1, 12)
  const days = layDays(fromMs, Date.UTC(2029, 5, 1), zone)
  let on = Temporal.Instant.fromEpochMilliseconds(fromMs).toZonedDateTimeISO(zone).toPlainDate()
  for (let i = 0; i < days.startMs.length; i++) {
    const told = [days.startMs[i], isoOf(days, i), days.weekday[i]]
    expect(told).toEqual([on.toZonedDateTime(zone).epochMilliseconds, on.toString(), on.dayOfWeek])
    on = on.add({ days: 1 })
  }
})

it('says the years of a span that crosses one, by the cellar’s clock', () => {
  const zone = 'Pacific/Auckland'
  const words = wordsFor('en', zone)
  const said = (from: string, to: string) => daysWords(words, words.dayShort, startOf(from, zone), startOf(to, zone))
  // 2 February 2027 and 1 January 2028 by the calendar: a Tuesday and a Saturday.
  expect(said('2027-02-02', '2027-02-03')).toBe('Tue 2 Feb')
  expect(said('2027-02-02', '2027-02-05')).toBe('Tue 2 Feb to Thu 4 Feb')
  expect(said('2027-02-02', '2028-01-01')).toBe('Tue 2 Feb to Fri 31 Dec')
  expect(said('2027-02-02', '2028-01-02')).toBe('Tue 2 Feb 2027 to Sat 1 Jan 2028')
})
