import { describe, expect, it } from 'vitest'
import { readOutside } from '../../api/feed/outside.ts'
import { writeFeed } from '../../api/feed/write.ts'
import { Temporal } from '../../api/time.ts'
import { makeFeedTask, makeSettings, NOW } from './make.ts'

const zone = 'Pacific/Auckland'
const from = Temporal.Instant.from('2027-01-01T00:00:00Z')
const to = Temporal.Instant.from('2028-01-01T00:00:00Z')
const wrap = (events: string) => `BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//y//EN\r\n${events}END:VCALENDAR\r\n`
const event = (...lines: string[]) =>
  ['BEGIN:VEVENT', 'UID:u1', 'DTSTAMP:20270101T000000Z', ...lines, 'END:VEVENT', ''].join('\r\n')
const entries = (text: string) => {
  const r = readOutside(text, zone, from, to)
  if (!r.ok) throw new Error(r.why)
  return r.value
}

describe('an outside calendar', () => {
  it('gives public holidays as whole days, the last day included', () => {
    const { entries: found } = entries(
      wrap(event('SUMMARY:Easter', 'DTSTART;VALUE=DATE:20270326', 'DTEND;VALUE=DATE:20270330')),
    )
    expect(found.map((e) => e.span)).toEqual([
      { kind: 'days', fromOn: Temporal.PlainDate.from('2027-03-26'), untilOn: Temporal.PlainDate.from('2027-03-29') },
    ])
  })

  it('gives a booking as a span of time, in its own zone or the cellar’s', () => {
    const { entries: found } = entries(
      wrap(
        event('SUMMARY:Line, west hall', 'DTSTART:20270727T180000Z', 'DTEND:20270727T230000Z') +
          event('SUMMARY:Gang', 'DTSTART:20270311T060000', 'DTEND:20270311T100000'),
      ),
    )
    expect(found.map((e) => e.span.kind === 'time' && e.span.fromAt.toString())).toEqual([
      '2027-07-27T18:00:00Z',
      '2027-03-10T17:00:00Z',
    ])
    expect(found[0]!.title).toBe('Line, west hall')
  })

  it('writes a repeated entry out to its dates inside the window', () => {
    const { entries: found } = entries(
      wrap(event('SUMMARY:Service', 'DTSTART:20270301T200000Z', 'DTEND:20270301T210000Z', 'RRULE:FREQ=WEEKLY;COUNT=4')),
    )
    expect(found.map((e) => e.span.kind === 'time' && e.span.fromAt.toString())).toEqual([
      '2027-03-01T20:00:00Z',
      '2027-03-08T20:00:00Z',
      '2027-03-15T20:00:00Z',
      '2027-03-22T20:00:00Z',
    ])
  })

  it('cuts an endless rule and says so', () => {
    const endless = entries(
      wrap(event('SUMMARY:Bell', 'DTSTART:20270101T000000Z', 'DTEND:20270101T000100Z', 'RRULE:FREQ=HOURLY')),
    )
    expect(endless.entries.length).toBe(400)
    expect(endless.left[0]!.why).toContain('400')
  })

  it('leaves out what is cancelled, upside down or unreadable, with a word for each', () => {
    const { entries: found, left } = entries(
      wrap(
        event('SUMMARY:a', 'STATUS:CANCELLED', 'DTSTART:20270301T000000Z', 'DTEND:20270301T010000Z') +
          event('SUMMARY:b', 'DTSTART:20270301T020000Z', 'DTEND:20270301T010000Z'),
      ),
    )
    expect(found).toEqual([])
    expect(left.map((l) => l.title)).toEqual(['a', 'b'])
  })

  it.each(['', 'hello', '<html></html>', 'BEGIN:VCARD\r\nEND:VCARD\r\n'])('refuses what is no calendar: %s', (text) => {
    expect(readOutside(text, zone, from, to)).toEqual({ ok: false, why: 'not-a-calendar' })
  })

  it('refuses a file that is too large', () => {
    expect(readOutside('x'.repeat(2_000_001), zone, from, to)).toEqual({ ok: false, why: 'too-large' })
  })

  it('reads our own feed back to the times that went in', () => {
    const tasks = [3, 9, 20].map((n) => makeFeedTask(n, { state: 'planned' }))
    const found = entries(writeFeed(tasks, makeSettings(), NOW)).entries
    expect(found.map((e) => e.span.kind === 'time' && e.span.fromAt.toString())).toEqual(
      tasks.map((t) => t.startAt.toString()),
    )
  })
})
