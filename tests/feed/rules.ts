import { alarms, all, type Component, events, one, type Read, unescapeText, zones } from './reader.ts'

/** One rule: what a reader may count on, where it is written, how to see it broken. */
export interface FeedRule {
  readonly id: string
  readonly section: string
  readonly says: string
  /** What breaks it in a feed; empty when it holds. */
  readonly broken: (r: Read) => readonly string[]
  /** The same body, spoiled so that just this rule is breached. */
  readonly spoil: (body: string) => string
}

const only = (bad: boolean, words: string): string[] => (bad ? [words] : [])
const octets = (s: string) => Buffer.byteLength(s)
const UTC = /^\d{8}T\d{6}Z$/
const DATE = /^\d{8}$/
const LOCAL = /^\d{8}T\d{6}$/
const DURATION = /^[+-]?P(\d+D)?(T(\d+H)?(\d+M)?(\d+S)?)?$/
const inEvent = (line: string) => (b: string) => b.replace('\r\nSUMMARY:', `\r\n${line}\r\nSUMMARY:`)
const inCalendar = (line: string) => (b: string) => b.replace('\r\nCALSCALE', `\r\n${line}\r\nCALSCALE`)
const inAlarm = (line: string) => (b: string) => b.replace('\r\nACTION:DISPLAY', `\r\n${line}\r\nACTION:DISPLAY`)
const without = (name: string) => (b: string) => b.replace(new RegExp(`\r\n${name}[:;][^\r]*(\r\n [^\r]*)*`), '')
const swap = (from: string | RegExp, to: string) => (b: string) => b.replace(from, to)
const exactlyOnce = (c: Component, name: string) =>
  only(all(c, name).length !== 1, `${c.name} has ${all(c, name).length} ${name}`)
const perEvent = (r: Read, f: (e: Component) => string[]) => events(r).flatMap(f)

const eventOnce = (id: string, name: string, section: string): FeedRule => ({
  id,
  section,
  says: `an event has ${name} exactly once`,
  broken: (r) => perEvent(r, (e) => exactlyOnce(e, name)),
  spoil: (b) => b.slice(0, b.indexOf('BEGIN:VEVENT')) + without(name)(b.slice(b.indexOf('BEGIN:VEVENT'))),
})

const eventUtc = (id: string, name: string, section: string): FeedRule => ({
  id,
  section,
  says: `${name} is in UTC`,
  broken: (r) =>
    perEvent(r, (e) => all(e, name).flatMap((p) => only(!UTC.test(p.value) || 'TZID' in p.params, p.value))),
  spoil: swap(new RegExp(`\r\n${name}:(\\d{8}T\\d{6})Z`), `\r\n${name}:$1`),
})

const never = (id: string, name: string, section: string, why: string): FeedRule => ({
  id,
  section,
  says: `no ${name}: ${why}`,
  broken: (r) => perEvent(r, (e) => all(e, name).map((p) => p.name)),
  spoil: inEvent(`${name}:x`),
})

const framing: readonly FeedRule[] = [
  {
    id: 'F1',
    section: 'RFC 5545 3.1',
    says: 'every line ends with CRLF and nothing else ends a line',
    broken: (r) => only(/[^\r]\n|\r[^\n]/.test(r.body), 'a lone CR or LF'),
    spoil: swap('\r\nCALSCALE', '\nCALSCALE'),
  },
  {
    id: 'F2',
    section: 'RFC 5545 3.4',
    says: 'the last line has its CRLF too',
    broken: (r) => only(!r.body.endsWith('END:VCALENDAR\r\n'), 'no CRLF at the end'),
    spoil: (b) => b.slice(0, -2),
  },
  {
    id: 'F3',
    section: 'RFC 5545 3.1',
    says: 'no line is longer than 75 octets',
    broken: (r) => r.physical.filter((l) => octets(l) > 75),
    spoil: inEvent(`COMMENT:${'x'.repeat(80)}`),
  },
  {
    id: 'F4',
    section: 'RFC 5545 3.1',
    says: 'folding cuts no character',
    broken: (r) => r.physical.filter((l) => !l.isWellFormed()),
    spoil: inEvent('COMMENT:\ud83c\r\n \udf47'),
  },
  {
    id: 'F5',
    section: 'RFC 5545 3.1',
    says: 'no control character but the tab',
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what is looked for
    broken: (r) => r.logical.filter((l) => /[\u0000-\u0008\u000a-\u001f\u007f]/.test(l)),
    spoil: inEvent('COMMENT:a\u0007b'),
  },
  {
    id: 'F6',
    section: 'reader quirk, measured',
    says: 'no U+2028, U+2029 or U+0085, which some readers take for line ends',
    broken: (r) => r.logical.filter((l) => /[\u0085\u2028\u2029]/.test(l)),
    spoil: inEvent('COMMENT:a\u2028b'),
  },
  {
    id: 'F7',
    section: 'RFC 5545 3.1',
    says: 'no empty line',
    broken: (r) => only(r.body.includes('\r\n\r\n'), 'an empty line'),
    spoil: swap('\r\nCALSCALE', '\r\n\r\nCALSCALE'),
  },
  {
    id: 'F8',
    section: 'RFC 5545 3.1.4',
    says: 'the body is well-formed Unicode and starts without a byte-order mark',
    broken: (r) => only(!r.body.startsWith('BEGIN:VCALENDAR') || !r.body.isWellFormed(), 'start or text'),
    spoil: (b) => `\ufeff${b}`,
  },
  {
    id: 'F9',
    section: 'RFC 5545 3.4',
    says: 'calendar properties come before components',
    broken: (r) => only(r.root.lateProperty, 'a calendar property after a component'),
    spoil: swap('\r\nEND:VCALENDAR', '\r\nX-LATE:1\r\nEND:VCALENDAR'),
  },
  {
    id: 'F10',
    section: 'RFC 5545 3.6.1',
    says: 'event properties come before alarms',
    broken: (r) => perEvent(r, (e) => only(e.lateProperty, one(e, 'UID')?.value ?? '')),
    spoil: swap('\r\nEND:VALARM\r\nEND:VEVENT', '\r\nEND:VALARM\r\nX-LATE:1\r\nEND:VEVENT'),
  },
  {
    id: 'F11',
    section: 'RFC 5545 3.6',
    says: 'property names are iana tokens or X- names',
    broken: (r) =>
      [r.root, ...r.root.components]
        .flatMap((c) => c.properties)
        .map((p) => p.name)
        .filter((n) => !/^[A-Z][A-Z0-9-]*$/.test(n)),
    spoil: inEvent('bad_name:1'),
  },
]

const calendar: readonly FeedRule[] = [
  {
    id: 'C1',
    section: 'RFC 5545 3.7.3',
    says: 'PRODID exactly once',
    broken: (r) => exactlyOnce(r.root, 'PRODID'),
    spoil: without('PRODID'),
  },
  {
    id: 'C2',
    section: 'RFC 5545 3.7.4',
    says: 'VERSION:2.0 exactly once',
    broken: (r) => [...exactlyOnce(r.root, 'VERSION'), ...only(one(r.root, 'VERSION')?.value !== '2.0', 'not 2.0')],
    spoil: swap('VERSION:2.0', 'VERSION:1.0'),
  },
  {
    id: 'C3',
    section: 'RFC 5545 3.6',
    says: 'at least one component, even when there is no task',
    broken: (r) => only(r.root.components.length === 0, 'empty calendar'),
    spoil: (b) => `${b.slice(0, b.indexOf('BEGIN:VTIMEZONE'))}END:VCALENDAR\r\n`,
  },
  {
    id: 'C4',
    section: 'RFC 5546 3.2.1',
    says: 'no METHOD: a published method would ask for an organizer',
    broken: (r) => all(r.root, 'METHOD').map((p) => p.value),
    spoil: inCalendar('METHOD:PUBLISH'),
  },
  {
    id: 'C5',
    section: 'RFC 7986 5.3, reader quirk',
    says: 'no UID on the calendar: a reader took it for the first event',
    broken: (r) => all(r.root, 'UID').map((p) => p.value),
    spoil: inCalendar('UID:abc'),
  },
  {
    id: 'C6',
    section: 'RFC 7986 5.1',
    says: 'NAME and X-WR-CALNAME say the same',
    broken: (r) =>
      only(one(r.root, 'NAME')?.value !== one(r.root, 'X-WR-CALNAME')?.value || !one(r.root, 'NAME'), 'names differ'),
    spoil: swap('X-WR-CALNAME:', 'X-WR-CALNAME:z'),
  },
  {
    id: 'C7',
    section: 'RFC 7986 5.7',
    says: 'REFRESH-INTERVAL is a duration and X-PUBLISHED-TTL says the same',
    broken: (r) => {
      const p = one(r.root, 'REFRESH-INTERVAL')
      return only(
        p?.params.VALUE !== 'DURATION' || !DURATION.test(p.value) || one(r.root, 'X-PUBLISHED-TTL')?.value !== p.value,
        'refresh',
      )
    },
    spoil: swap('X-PUBLISHED-TTL:PT1H', 'X-PUBLISHED-TTL:PT5M'),
  },
  {
    id: 'C8',
    section: 'RFC 7986 5.9',
    says: 'COLOR is a colour name of CSS3, never a number',
    broken: (r) =>
      [...all(r.root, 'COLOR'), ...events(r).flatMap((e) => all(e, 'COLOR'))]
        .map((p) => p.value)
        .filter((v) => !/^[a-z]+$/.test(v)),
    spoil: swap('COLOR:olive', 'COLOR:#8A9352'),
  },
  {
    id: 'C9',
    section: 'privacy',
    says: 'no SOURCE or URL on the calendar: it would repeat the secret address',
    broken: (r) => [...all(r.root, 'SOURCE'), ...all(r.root, 'URL')].map((p) => p.value),
    spoil: inCalendar('SOURCE;VALUE=URI:https://cellar.example/feed/secret.ics'),
  },
  {
    id: 'C10',
    section: 'RFC 5545 3.7.1',
    says: 'CALSCALE is GREGORIAN or absent',
    broken: (r) =>
      all(r.root, 'CALSCALE')
        .map((p) => p.value)
        .filter((v) => v !== 'GREGORIAN'),
    spoil: swap('CALSCALE:GREGORIAN', 'CALSCALE:JULIAN'),
  },
  {
    id: 'C11',
    section: 'practice',
    says: 'only events and zones: no to-do, which phones do not show',
    broken: (r) => r.root.components.map((c) => c.name).filter((n) => n !== 'VEVENT' && n !== 'VTIMEZONE'),
    spoil: swap('END:VCALENDAR', 'BEGIN:VTODO\r\nUID:a\r\nEND:VTODO\r\nEND:VCALENDAR'),
  },
  {
    id: 'C12',
    section: 'non-standard names',
    says: 'no TIMEZONE-ID and no X-WR-TIMEZONE: the zone stands with each time',
    broken: (r) => [...all(r.root, 'TIMEZONE-ID'), ...all(r.root, 'X-WR-TIMEZONE')].map((p) => p.name),
    spoil: inCalendar('X-WR-TIMEZONE:Pacific/Auckland'),
  },
]

const identity: readonly FeedRule[] = [
  eventOnce('I1', 'UID', 'RFC 5545 3.8.4.7'),
  {
    id: 'I2',
    section: 'RFC 5545 3.8.4.7',
    says: 'every UID stands once in a feed',
    broken: (r) => {
      const uids = events(r).map((e) => one(e, 'UID')?.value)
      return only(new Set(uids).size !== uids.length, 'a UID twice')
    },
    spoil: (b) => {
      const uid = /\r\nUID:([^\r]*)/.exec(b)![1]!
      return b.replace(/(\r\nUID:)([^\r]*)/g, (_, k: string) => `${k}${uid}`)
    },
  },
  {
    id: 'I3',
    section: 'RFC 7986 5.3',
    says: 'a UID is a UUID: no host, person or lot can be read from it',
    broken: (r) =>
      perEvent(r, (e) => only(!/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(one(e, 'UID')?.value ?? ''), 'UID')),
    spoil: swap(/\r\nUID:[^\r]*/, '\r\nUID:L01/rack/1@cellar.example'),
  },
  {
    id: 'I4',
    section: 'RFC 9562 4',
    says: 'the UUID carries its version and variant',
    broken: (r) => perEvent(r, (e) => only(!/^.{14}[1-8].{4}[89ab]/.test(one(e, 'UID')?.value ?? ''), 'version')),
    spoil: swap(/(\r\nUID:.{14})./, '$10'),
  },
  eventOnce('I5', 'SEQUENCE', 'RFC 5545 3.8.7.4'),
  {
    id: 'I6',
    section: 'RFC 5545 3.8.7.4',
    says: 'SEQUENCE is a whole number from 0',
    broken: (r) => perEvent(r, (e) => only(!/^\d{1,9}$/.test(one(e, 'SEQUENCE')?.value ?? ''), 'SEQUENCE')),
    spoil: swap(/\r\nSEQUENCE:\d+/, '\r\nSEQUENCE:-1'),
  },
  eventOnce('I7', 'DTSTAMP', 'RFC 5545 3.8.7.2'),
  eventUtc('I8', 'DTSTAMP', 'RFC 5545 3.8.7.2'),
  eventOnce('I9', 'LAST-MODIFIED', 'RFC 5545 3.8.7.3'),
  eventUtc('I10', 'LAST-MODIFIED', 'RFC 5545 3.8.7.3'),
  {
    id: 'I11',
    section: 'RFC 5545 3.8.7.2',
    says: 'without METHOD, DTSTAMP is the last revision and equals LAST-MODIFIED',
    broken: (r) =>
      perEvent(r, (e) => only(one(e, 'DTSTAMP')?.value !== one(e, 'LAST-MODIFIED')?.value, 'stamps differ')),
    spoil: swap(/\r\nDTSTAMP:\d{8}/, '\r\nDTSTAMP:20200101'),
  },
  never('I12', 'ORGANIZER', 'RFC 5545 3.8.4.3', 'a task is no invitation'),
  never('I13', 'ATTENDEE', 'RFC 5545 3.8.4.1', 'a task is no invitation'),
  never('I14', 'CONFERENCE', 'RFC 7986 5.11', 'it is for meetings'),
  {
    id: 'I15',
    section: 'RFC 5545 3.8.1.11',
    says: 'STATUS is one of the three an event may have, once',
    broken: (r) =>
      perEvent(r, (e) => [
        ...exactlyOnce(e, 'STATUS'),
        ...only(!/^(TENTATIVE|CONFIRMED|CANCELLED)$/.test(one(e, 'STATUS')?.value ?? ''), 'STATUS'),
      ]),
    spoil: swap(/\r\nSTATUS:[A-Z]+/, '\r\nSTATUS:COMPLETED'),
  },
]

const time: readonly FeedRule[] = [
  eventOnce('T1', 'DTSTART', 'RFC 5545 3.6.1'),
  eventOnce('T2', 'DTEND', 'RFC 5545 3.6.1'),
  {
    id: 'T3',
    section: 'RFC 5545 3.3.5',
    says: 'no floating time: local with TZID, or UTC without, or a date',
    broken: (r) =>
      perEvent(r, (e) =>
        [...all(e, 'DTSTART'), ...all(e, 'DTEND')].flatMap((p) =>
          only(
            p.params.VALUE === 'DATE'
              ? 'TZID' in p.params || !DATE.test(p.value)
              : 'TZID' in p.params
                ? !LOCAL.test(p.value)
                : !UTC.test(p.value),
            `${p.name} ${p.value}`,
          ),
        ),
      ),
    spoil: swap(/DTSTART;TZID=[^:]*:/, 'DTSTART:'),
  },
  {
    id: 'T4',
    section: 'RFC 5545 3.8.2.2',
    says: 'start and end have one form',
    broken: (r) =>
      perEvent(r, (e) => only(one(e, 'DTSTART')?.params.TZID !== one(e, 'DTEND')?.params.TZID, 'forms differ')),
    spoil: swap(/DTEND;TZID=[^:]*:(\d{8}T\d{6})/, 'DTEND:$1Z'),
  },
  {
    id: 'T4a',
    section: 'RFC 5545 3.6.1',
    says: 'an event that starts on a date ends on one',
    broken: (r) =>
      perEvent(r, (e) =>
        only(one(e, 'DTSTART')?.params.VALUE !== one(e, 'DTEND')?.params.VALUE, 'date and time mixed'),
      ),
    spoil: swap(/DTEND;VALUE=DATE:(\d{8})/, 'DTEND:$1T000000Z'),
  },
  {
    id: 'T5',
    section: 'RFC 5545 3.8.2.2',
    says: 'the end is later than the start',
    broken: (r) =>
      perEvent(r, (e) => only(!(one(e, 'DTEND')!.value > one(e, 'DTSTART')!.value), 'ends before it starts')),
    spoil: swap(/(DTEND[^:]*:)\d{4}/, '$12001'),
  },
  never('T6', 'DURATION', 'RFC 5545 3.6.1', 'the end is given'),
  never('T7', 'RRULE', 'practice', 'each check is a task of its own, with its own dose and state'),
  never('T8', 'RDATE', 'practice', 'as for rules'),
  never('T9', 'EXDATE', 'practice', 'as for rules'),
  never('T10', 'RECURRENCE-ID', 'practice', 'as for rules'),
  {
    id: 'T11',
    section: 'RFC 5545 3.2.19',
    says: 'each TZID used has its VTIMEZONE, once',
    broken: (r) => {
      const known = zones(r).map((z) => one(z, 'TZID')?.value)
      const used = events(r).flatMap((e) => e.properties.map((p) => p.params.TZID).filter((t) => t !== undefined))
      return [...used.filter((t) => !known.includes(t)), ...only(new Set(known).size !== known.length, 'a zone twice')]
    },
    spoil: swap(/\r\nTZID:[^\r]*/, '\r\nTZID:Etc/Other'),
  },
  {
    id: 'T12',
    section: 'RFC 5545 3.6.5',
    says: 'a zone has at least one STANDARD or DAYLIGHT, each with onset and both offsets once',
    broken: (r) =>
      zones(r).flatMap((z) => [
        ...only(z.components.length === 0, 'no observance'),
        ...z.components.flatMap((c) => [
          ...only(c.name !== 'STANDARD' && c.name !== 'DAYLIGHT', c.name),
          ...exactlyOnce(c, 'DTSTART'),
          ...exactlyOnce(c, 'TZOFFSETFROM'),
          ...exactlyOnce(c, 'TZOFFSETTO'),
        ]),
      ]),
    spoil: without('TZOFFSETFROM'),
  },
  {
    id: 'T13',
    section: 'RFC 5545 3.6.5',
    says: 'the onset is local, without zone or Z',
    broken: (r) =>
      zones(r).flatMap((z) => z.components.flatMap((c) => only(!LOCAL.test(one(c, 'DTSTART')?.value ?? ''), 'onset'))),
    spoil: swap(/(BEGIN:(?:STANDARD|DAYLIGHT)\r\nDTSTART:\d{8}T\d{6})/, '$1Z'),
  },
  {
    id: 'T14',
    section: 'RFC 5545 3.3.14',
    says: 'an offset is signed hours and minutes',
    broken: (r) =>
      zones(r).flatMap((z) =>
        z.components.flatMap((c) =>
          [...all(c, 'TZOFFSETFROM'), ...all(c, 'TZOFFSETTO')]
            .map((p) => p.value)
            .filter((v) => !/^[+-]\d{4}(\d{2})?$/.test(v)),
        ),
      ),
    spoil: swap(/TZOFFSETTO:[+-]/, 'TZOFFSETTO:'),
  },
  {
    id: 'T15',
    section: 'RFC 5545 3.6.5',
    says: 'the zone begins before the first task that uses it',
    broken: (r) => {
      const onsets = zones(r)
        .flatMap((z) => z.components.map((c) => one(c, 'DTSTART')!.value))
        .sort()
      const starts = events(r)
        .map((e) => one(e, 'DTSTART')!)
        .filter((p) => 'TZID' in p.params)
        .map((p) => p.value)
        .sort()
      return only(starts.length > 0 && !(onsets[0]! <= starts[0]!), 'a task before the zone')
    },
    spoil: (b) => b.replaceAll(/(BEGIN:(?:STANDARD|DAYLIGHT)\r\nDTSTART:)\d{4}/g, '$12035'),
  },
  {
    id: 'T16',
    section: 'RFC 5545 3.6.5',
    says: 'the zone stands before the events',
    broken: (r) =>
      only(
        r.body.indexOf('BEGIN:VTIMEZONE') > r.body.indexOf('BEGIN:VEVENT') && events(r).length > 0,
        'zone after events',
      ),
    spoil: (b) => {
      const zone = /BEGIN:VTIMEZONE[\s\S]*END:VTIMEZONE\r\n/.exec(b)![0]
      return b.replace(zone, '').replace('END:VCALENDAR', `${zone}END:VCALENDAR`)
    },
  },
  {
    id: 'T17',
    section: 'RFC 5545 3.3.10',
    says: 'no UNTIL in local time in a zone rule',
    broken: (r) =>
      zones(r).flatMap((z) =>
        z.components.flatMap((c) =>
          all(c, 'RRULE')
            .map((p) => p.value)
            .filter((v) => /UNTIL=\d{8}T\d{6}(?!Z)/.test(v)),
        ),
      ),
    spoil: swap(/(TZOFFSETTO:[^\r]*)/, '$1\r\nRRULE:FREQ=YEARLY;UNTIL=20300101T000000'),
  },
]

const alarm: readonly FeedRule[] = [
  {
    id: 'A1',
    section: 'RFC 5545 3.6.6',
    says: 'ACTION and TRIGGER once each',
    broken: (r) => alarms(r).flatMap((a) => [...exactlyOnce(a, 'ACTION'), ...exactlyOnce(a, 'TRIGGER')]),
    spoil: without('TRIGGER'),
  },
  {
    id: 'A2',
    section: 'RFC 5545 3.6.6',
    says: 'a DISPLAY alarm has a description',
    broken: (r) =>
      alarms(r).flatMap((a) => [
        ...only(one(a, 'ACTION')?.value !== 'DISPLAY', 'action'),
        ...exactlyOnce(a, 'DESCRIPTION'),
      ]),
    spoil: swap(/(ACTION:DISPLAY[\s\S]*?)\r\nDESCRIPTION:[^\r]*(\r\n [^\r]*)*/, '$1'),
  },
  {
    id: 'A3',
    section: 'RFC 5545 3.8.6.3',
    says: 'the trigger is a duration before the start',
    broken: (r) =>
      alarms(r).flatMap((a) =>
        only(!/^-P/.test(one(a, 'TRIGGER')?.value ?? '') || !DURATION.test(one(a, 'TRIGGER')!.value), 'trigger'),
      ),
    spoil: swap(/TRIGGER:[^\r]*/, 'TRIGGER;VALUE=DATE-TIME:20270101T000000'),
  },
  {
    id: 'A4',
    section: 'RFC 5545 3.8.6.2',
    says: 'REPEAT comes with DURATION or not at all',
    broken: (r) => alarms(r).flatMap((a) => only(all(a, 'REPEAT').length !== all(a, 'DURATION').length, 'repeat')),
    spoil: inAlarm('REPEAT:2'),
  },
  {
    id: 'A5',
    section: 'practice',
    says: 'no alarm on a cancelled task',
    broken: (r) =>
      perEvent(r, (e) =>
        only(one(e, 'STATUS')?.value === 'CANCELLED' && e.components.length > 0, 'alarm on cancelled'),
      ),
    spoil: (b) =>
      b.replace(/BEGIN:VEVENT(?:(?!END:VEVENT)[\s\S])*BEGIN:VALARM/, (m) =>
        m.replace(/STATUS:[A-Z]+/g, 'STATUS:CANCELLED'),
      ),
  },
  {
    id: 'A6',
    section: 'practice',
    says: 'at most one alarm a task',
    broken: (r) => perEvent(r, (e) => only(e.components.length > 1, 'two alarms')),
    spoil: swap(/(BEGIN:VALARM[\s\S]*?END:VALARM\r\n)/, '$1$1'),
  },
]

const content: readonly FeedRule[] = [
  eventOnce('X1', 'SUMMARY', 'RFC 5545 3.8.1.12'),
  eventOnce('X2', 'DESCRIPTION', 'RFC 5545 3.8.1.5'),
  eventOnce('X3', 'LOCATION', 'RFC 5545 3.8.1.7'),
  eventOnce('X4', 'URL', 'RFC 5545 3.8.4.6'),
  {
    id: 'X5',
    section: 'RFC 5545 3.3.11',
    says: 'text escapes backslash, semicolon, comma and newline, and never the colon',
    broken: (r) =>
      perEvent(r, (e) =>
        ['SUMMARY', 'DESCRIPTION', 'LOCATION', 'CATEGORIES'].flatMap((n) =>
          all(e, n)
            .map((p) => p.value)
            .filter((v) => /(?<!\\)(\\\\)*[;,]/.test(v) || /(?<!\\)(\\\\)*\\[^\\;,nN]/.test(v)),
        ),
      ),
    spoil: swap(/\r\nSUMMARY:/, '\r\nSUMMARY:\\:a, b '),
  },
  {
    id: 'X6',
    section: 'RFC 5545 3.8.4.6',
    says: 'a URL is a URI without TEXT escapes',
    broken: (r) =>
      perEvent(r, (e) =>
        all(e, 'URL')
          .map((p) => p.value)
          .filter((v) => v.includes('\\') || !URL.canParse(v)),
      ),
    spoil: swap(/\r\nURL:/, '\r\nURL:not a url\\,'),
  },
  {
    id: 'X7',
    section: 'practice',
    says: 'the link is repeated in the description, which every reader shows',
    broken: (r) =>
      perEvent(r, (e) => only(!unescapeText(one(e, 'DESCRIPTION')!.value).includes(one(e, 'URL')!.value), 'link')),
    spoil: swap(/\r\nURL:[^\r]*(\r\n [^\r]*)*/, '\r\nURL:https://other.example/a'),
  },
  {
    id: 'X8',
    section: 'practice',
    says: 'a title is one line',
    broken: (r) => perEvent(r, (e) => only(unescapeText(one(e, 'SUMMARY')!.value).includes('\n'), 'two lines')),
    spoil: swap(/\r\nSUMMARY:/, '\r\nSUMMARY:a\\nb'),
  },
  {
    id: 'X9',
    section: 'RFC 5545 3.8.2.7',
    says: 'TRANSP is OPAQUE or TRANSPARENT',
    broken: (r) =>
      perEvent(r, (e) =>
        all(e, 'TRANSP')
          .map((p) => p.value)
          .filter((v) => v !== 'OPAQUE' && v !== 'TRANSPARENT'),
      ),
    spoil: swap(/TRANSP:[A-Z]+/, 'TRANSP:MAYBE'),
  },
  {
    id: 'X10',
    section: 'RFC 9253 5',
    says: 'an order link has RELTYPE=FINISHTOSTART and names a task of this feed, not itself',
    broken: (r) => {
      const uids = new Set(events(r).map((e) => one(e, 'UID')?.value))
      return perEvent(r, (e) =>
        all(e, 'RELATED-TO').flatMap((p) =>
          only(p.params.RELTYPE !== 'FINISHTOSTART' || !uids.has(p.value) || p.value === one(e, 'UID')?.value, p.value),
        ),
      )
    },
    spoil: (b) => b.replace('RELTYPE=FINISHTOSTART', 'RELTYPE=NEIGHBOUR'),
  },
  {
    id: 'X11',
    section: 'RFC 9253 6.2',
    says: 'the gap of an order link is a duration',
    broken: (r) =>
      perEvent(r, (e) =>
        all(e, 'RELATED-TO')
          .map((p) => p.params.GAP ?? '')
          .filter((g) => !DURATION.test(g) || g === 'P'),
      ),
    spoil: swap(/GAP=[^:;]*/, 'GAP=12h'),
  },
  {
    id: 'X12',
    section: 'RFC 9253 6.2',
    says: 'order links make no circle',
    broken: (r) => {
      const next = new Map(events(r).map((e) => [one(e, 'UID')!.value, all(e, 'RELATED-TO').map((p) => p.value)]))
      const state = new Map<string, 1 | 2>()
      const circle = (uid: string): boolean => {
        if (state.get(uid) === 2) return false
        if (state.get(uid) === 1) return true
        state.set(uid, 1)
        const found = (next.get(uid) ?? []).some(circle)
        state.set(uid, 2)
        return found
      }
      return [...next.keys()].filter(circle)
    },
    spoil: (b) => {
      const uids = [...b.matchAll(/\r\nUID:([^\r]*)/g)].map((m) => m[1]!)
      const [first, second] = uids
      return b
        .replaceAll(/\r\nRELATED-TO[^\r]*(\r\n [^\r]*)*/g, '')
        .replace(`UID:${first}`, `UID:${first}\r\nRELATED-TO;RELTYPE=FINISHTOSTART;GAP=PT0M:\r\n ${second}`)
        .replace(`UID:${second}\r\n`, `UID:${second}\r\nRELATED-TO;RELTYPE=FINISHTOSTART;GAP=PT0M:\r\n ${first}\r\n`)
    },
  },
  {
    id: 'X13',
    section: 'RFC 5545 3.2',
    says: 'a parameter value with : ; or , is quoted',
    broken: (r) =>
      events(r).flatMap((e) =>
        e.properties.flatMap((p) => Object.values(p.params).filter((v) => /[:;,]/.test(v) && !v.startsWith('"'))),
      ),
    spoil: inEvent('X-NOTE;ALTREP=a,b:c'),
  },
  {
    id: 'X14',
    section: 'privacy',
    says: 'CLASS is not used as if it were protection',
    broken: (r) => perEvent(r, (e) => all(e, 'CLASS').map((p) => p.value)),
    spoil: inEvent('CLASS:PRIVATE'),
  },
  {
    id: 'X15',
    section: 'practice',
    says: 'no marker of the writer is left over',
    broken: (r) => r.logical.filter((l) => l.startsWith('X-LIFT-')),
    spoil: inEvent('X-LIFT-URL:a'),
  },
  {
    id: 'X16',
    section: 'RFC 5545 3.8.1.2',
    says: 'every event names its kind of work in CATEGORIES',
    broken: (r) => perEvent(r, (e) => only(all(e, 'CATEGORIES').length === 0, 'no category')),
    spoil: (b) => b.replaceAll(/\r\nCATEGORIES:[^\r]*/g, ''),
  },
]

export const FEED_RULES: readonly FeedRule[] = [...framing, ...calendar, ...identity, ...time, ...alarm, ...content]
