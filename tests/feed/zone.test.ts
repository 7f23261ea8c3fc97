import ICAL from 'ical.js'
import { DateTime } from 'luxon'
import { tzlib_get_ical_block } from 'timezones-ical-library'
import { describe, expect, it } from 'vitest'
import { writeFeed } from '../../api/feed/write.ts'
import { offsetMin, zoneSpan } from '../../api/feed/zone.ts'
import { Temporal } from '../../api/time.ts'
import { makeFeedTask, makeSettings, NOW, ZONES } from './make.ts'

const HOUR = 3_600_000

describe.each(ZONES)('%s', (zone) => {
  const settings = makeSettings({ zone })
  const span = zoneSpan(zone, settings.fromAt, settings.toAt)

  it('gives every hour of the window the offset that another reader of the zone data gives', () => {
    for (let ms = settings.fromAt.epochMilliseconds; ms < settings.toAt.epochMilliseconds; ms += HOUR)
      expect(offsetMin(span, ms)).toBe(DateTime.fromMillis(ms, { zone }).offset)
  })

  it('is read back by a parser that did not write it, to the minute round each change of the clock', () => {
    const changes = span.changes.filter(
      (c) => c.offsetMin !== c.offsetBeforeMin && c.fromMs > settings.fromAt.epochMilliseconds,
    )
    const moments = changes.flatMap((c) =>
      [-120, -61, -60, -59, -31, -30, -1, 0, 1, 29, 30, 59, 60, 61, 120].map((m) => c.fromMs + m * 60_000),
    )
    const tasks = moments.map((ms, n) =>
      makeFeedTask(n, {
        startAt: Temporal.Instant.fromEpochMilliseconds(ms),
        endAt: Temporal.Instant.fromEpochMilliseconds(ms + 15 * 60_000),
        state: 'planned',
        next: [],
      }),
    )
    expect(readStarts(writeFeed(tasks, settings, NOW))).toEqual([...moments].sort((a, b) => a - b))
  })
})

function readStarts(body: string): number[] {
  const root = new ICAL.Component(ICAL.parse(body))
  ICAL.TimezoneService.reset()
  for (const z of root.getAllSubcomponents('vtimezone')) ICAL.TimezoneService.register(new ICAL.Timezone(z))
  return root
    .getAllSubcomponents('vevent')
    .map((e) => new ICAL.Event(e).startDate.toUnixTime() * 1000)
    .sort((a, b) => a - b)
}

it('agrees at each onset with a published table of zone components, where that table is right', () => {
  // The table's known faults (Santiago from 2029) lie outside the window written here.
  for (const zone of [
    'Pacific/Auckland',
    'Europe/Paris',
    'America/New_York',
    'Australia/Lord_Howe',
    'Africa/Johannesburg',
  ]) {
    const settings = makeSettings({ zone })
    const span = zoneSpan(zone, settings.fromAt, settings.toAt)
    const table = tzlib_get_ical_block(zone)
    const text = Array.isArray(table) ? table[0]! : table
    const component = new ICAL.Component(
      ICAL.parse(`BEGIN:VCALENDAR\r\n${text.trim().replace(/\r?\n/g, '\r\n')}\r\nEND:VCALENDAR`),
    )
    const theirs = new ICAL.Timezone(component.getFirstSubcomponent('vtimezone')!)
    for (const c of span.changes.slice(2))
      for (const ms of [c.fromMs - HOUR * 3, c.fromMs + HOUR * 3]) {
        const at = ICAL.Time.fromJSDate(new Date(ms + offsetMin(span, ms) * 60_000), true)
        at.zone = theirs
        expect(theirs.utcOffset(at) / 60, `${zone} ${new Date(ms).toISOString()}`).toBe(offsetMin(span, ms))
      }
  }
})
