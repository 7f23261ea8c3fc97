import fc from 'fast-check'
import ICAL from 'ical.js'
import { describe, expect, it } from 'vitest'
import { taskUid } from '../../api/feed/uid.ts'
import { writeFeed } from '../../api/feed/write.ts'
import { makeFeedTask, makeSettings, NOW } from './make.ts'
import { all, events, one, read, unescapeText } from './reader.ts'

const bodyOf = (more: Parameters<typeof makeFeedTask>[1], settings = makeSettings()) =>
  writeFeed([makeFeedTask(30, { state: 'planned', forecast: false, next: [], ...more })], settings, NOW)
const eventOf = (body: string) => events(read(body))[0]!
const words = (body: string) => unescapeText(one(eventOf(body), 'DESCRIPTION')!.value)

describe('a task in the feed', () => {
  it('puts vessel, action and lot first in its title', () => {
    expect(unescapeText(one(eventOf(bodyOf({ action: 'Rack' })), 'SUMMARY')!.value)).toBe('T09 > T01 · Rack · L01')
  })

  it('is tentative while it hangs on a reading, confirmed when it does not or is done', () => {
    expect(one(eventOf(bodyOf({ forecast: true })), 'STATUS')!.value).toBe('TENTATIVE')
    expect(one(eventOf(bodyOf({ forecast: false })), 'STATUS')!.value).toBe('CONFIRMED')
    expect(one(eventOf(bodyOf({ forecast: true, state: 'done' })), 'STATUS')!.value).toBe('CONFIRMED')
  })

  it('shows the caution before everything else while there is work to do', () => {
    expect(words(bodyOf({})).split('\n')[0]).toMatch(/^Caution: CO2/)
    expect(words(bodyOf({ state: 'done' }))).not.toContain('CO2')
  })

  it('names doses only where the reader chose to see them', () => {
    expect(words(bodyOf({}))).toContain('PMS 270 g')
    expect(words(bodyOf({}, makeSettings({ showDoses: false })))).not.toContain('PMS')
  })

  it('shows a cancelled task for 14 days, without alarm and with its reason, then leaves it out', () => {
    const changedAt = NOW.subtract({ hours: 24 * 13 })
    const shown = eventOf(bodyOf({ state: 'cancelled', reason: 'merged into L05', changedAt, family: 'juice' }))
    expect(one(shown, 'STATUS')!.value).toBe('CANCELLED')
    expect(shown.components).toEqual([])
    expect(unescapeText(one(shown, 'DESCRIPTION')!.value)).toContain('merged into L05')
    expect(events(read(bodyOf({ state: 'cancelled', changedAt: NOW.subtract({ hours: 24 * 14 }) })))).toEqual([])
  })

  it('rings before the start only where its kind of work has an alarm', () => {
    const alarm = eventOf(bodyOf({ family: 'juice' })).components[0]!
    expect(one(alarm, 'TRIGGER')!.value).toBe('-PT30M')
    expect(eventOf(bodyOf({ family: 'check' })).components).toEqual([])
  })

  it('leaves out what lies outside the window', () => {
    const settings = makeSettings()
    const before = settings.fromAt.subtract({ hours: 2 })
    expect(events(read(bodyOf({ startAt: before, endAt: before.add({ minutes: 30 }) }, settings)))).toEqual([])
    expect(
      events(read(bodyOf({ startAt: settings.toAt, endAt: settings.toAt.add({ minutes: 30 }) }, settings))),
    ).toEqual([])
  })

  it('gives a task of no length one minute, since the end must be later than the start', () => {
    const { startAt } = makeFeedTask(1)
    const e = eventOf(bodyOf({ startAt, endAt: startAt }))
    expect(Number(one(e, 'DTEND')!.value.slice(9)) - Number(one(e, 'DTSTART')!.value.slice(9))).toBe(100)
  })

  it('writes work that is planned to the day as dates, without names, alarm or hour, and blocks nothing', () => {
    // 08:00 to 10:00 of Tuesday 14 September 2027 in Auckland (NZST, 12 h ahead): 20:00Z to 22:00Z of the 13th.
    const day = { wholeDays: true, people: [], family: 'juice' as const }
    const body = bodyOf({ ...day, startAt: at('2027-09-13T20:00:00Z'), endAt: at('2027-09-13T22:00:00Z') })
    const e = eventOf(body)
    // RFC 5545 3.6.1: with DATE values DTEND is the first day that is not part of it.
    expect(one(e, 'DTSTART')).toMatchObject({ params: { VALUE: 'DATE' }, value: '20270914' })
    expect(one(e, 'DTEND')).toMatchObject({ params: { VALUE: 'DATE' }, value: '20270915' })
    expect(one(e, 'TRANSP')!.value).toBe('TRANSPARENT')
    expect(e.components).toEqual([])
    expect(all(e, 'ATTENDEE')).toEqual([])
    expect(words(body)).toContain('its hour and its crew are named nearer to it')
    expect(words(body)).not.toContain('Crew:')
    expect(body).not.toContain('X-WHOLE-DAYS')
    const parsed = new ICAL.Event(new ICAL.Component(ICAL.parse(body)).getFirstSubcomponent('vevent')!)
    expect([parsed.startDate.isDate, parsed.startDate.toString(), parsed.endDate.toString()]).toEqual([
      true,
      '2027-09-14',
      '2027-09-15',
    ])
    // From 14 September 08:00 to 16 September 00:00 local time: two days, the 16th is not part of it.
    const two = eventOf(bodyOf({ ...day, startAt: at('2027-09-13T20:00:00Z'), endAt: at('2027-09-15T12:00:00Z') }))
    expect(one(two, 'DTEND')!.value).toBe('20270916')
  })

  it('writes an hour that comes twice in UTC, since readers differ on which of the two is meant', () => {
    // Auckland, Sunday 4 April 2027: 03:00 NZDT goes back to 02:00 NZST; 14:30Z is the second 02:30.
    const second = bodyOf({ startAt: at('2027-04-03T14:30:00Z'), endAt: at('2027-04-03T14:45:00Z') })
    expect(one(eventOf(second), 'DTSTART')).toMatchObject({ params: {}, value: '20270403T143000Z' })
    const first = bodyOf({ startAt: at('2027-04-03T13:30:00Z'), endAt: at('2027-04-03T13:45:00Z') })
    expect(one(eventOf(first), 'DTSTART')).toMatchObject({ params: {}, value: '20270403T133000Z' })
  })
})

function at(iso: string) {
  return NOW.add({ milliseconds: Date.parse(iso) - NOW.epochMilliseconds })
}

describe('any text', () => {
  const nasty = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 60 }),
    fc.string({ unit: 'grapheme', maxLength: 60 }),
    fc.constantFrom(
      'a\r\nBEGIN:VEVENT\r\nUID:x',
      'x\u2028y\u2029z\u0085',
      '\\n;,\\,',
      '🍇'.repeat(60),
      'שלום עולם',
      '\u0000\u0007\u001b[2J',
      'a'.repeat(5000),
      '\ud800 lone',
    ),
  )
  // What a line of text may carry at all: the same text with line ends told as \n and controls gone.
  const isControl = (c: string) => (c < ' ' && c !== '\t' && c !== '\n') || c === '\u007f'
  const meant = (text: string) =>
    ['\r\n', '\r', '\v', '\f', '\u0085', '\u2028', '\u2029']
      .reduce((t, end) => t.replaceAll(end, '\n'), text.toWellFormed())
      .split('')
      .filter((c) => !isControl(c))
      .join('')

  it('comes back equal and adds no line of its own', () => {
    fc.assert(
      fc.property(nasty, nasty, nasty, (name, detail, action) => {
        const settings = makeSettings({ name, cellarName: name })
        const body = bodyOf({ detail, action, lotName: name, people: [name] }, settings)
        const r = read(body)
        expect(events(r).length).toBe(1)
        expect(all(events(r)[0]!, 'UID').length).toBe(1)
        const flat = meant(name).replace(/\n+/g, ' ').trim()
        expect(unescapeText(one(r.root, 'NAME')!.value)).toBe(flat)
        if (meant(detail)) expect(unescapeText(one(events(r)[0]!, 'DESCRIPTION')!.value)).toContain(meant(detail))
        expect(unescapeText(one(events(r)[0]!, 'SUMMARY')!.value)).toContain(meant(action).replace(/\n+/g, ' ').trim())
        const theirs = new ICAL.Event(new ICAL.Component(ICAL.parse(body)).getFirstSubcomponent('vevent')!)
        expect(theirs.description).toBe(unescapeText(one(events(r)[0]!, 'DESCRIPTION')!.value))
      }),
      { numRuns: 300 },
    )
  })
})

describe('bytes', () => {
  it('are the same for the same rows in any order, whenever they are read', () => {
    const tasks = Array.from({ length: 20 }, (_, n) => makeFeedTask(n, { state: 'planned' }))
    const once = writeFeed(tasks, makeSettings(), NOW)
    expect(writeFeed([...tasks].reverse(), makeSettings(), NOW.add({ hours: 5 }))).toBe(once)
  })
})

describe('a UID', () => {
  it('is the same for a task for life, other for another task or cellar', () => {
    expect(taskUid('a', 'L01/press/1')).toBe(taskUid('a', 'L01/press/1'))
    expect(new Set([taskUid('a', 'L01/press/1'), taskUid('a', 'L01/press/2'), taskUid('b', 'L01/press/1')]).size).toBe(
      3,
    )
  })
})
