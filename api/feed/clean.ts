import { escapeText, fold, oneLine } from './text.ts'
import { happensTwice, offsetMin, stamp, type ZoneSpan, zoneLines } from './zone.ts'

/** Marks a property that the writer has no call for; the prefix goes, what follows stays as it is. */
export const LIFT = 'X-LIFT-'

/** Marks an event that stands for whole days; the mark itself goes. */
export const WHOLE_DAYS = 'X-WHOLE-DAYS'

const utcMs = (value: string) =>
  Date.UTC(
    Number(value.slice(0, 4)),
    Number(value.slice(4, 6)) - 1,
    Number(value.slice(6, 8)),
    Number(value.slice(9, 11)),
    Number(value.slice(11, 13)),
    Number(value.slice(13, 15)),
  )

const START = 'DTSTART:'
const END = 'DTEND:'

/** Start and end in the zone, unless either would be misread there: then both stay in UTC, as one form for both is asked. */
function inZone(lines: readonly string[], span: ZoneSpan): string[] {
  const times = lines
    .filter((l) => l.startsWith(START) || l.startsWith(END))
    .map((l) => utcMs(l.slice(l.indexOf(':') + 1)))
  if (times.some((ms) => happensTwice(span, ms))) return [...lines]
  return lines.map((line) => {
    const name = line.startsWith(START) ? 'DTSTART' : line.startsWith(END) ? 'DTEND' : null
    if (!name) return line
    const ms = utcMs(line.slice(name.length + 1))
    return `${name};TZID=${span.zone}:${stamp(ms, offsetMin(span, ms))}`
  })
}

const DAY_MS = 86_400_000

/** A date as start, and as end the first date that is not part of it any more (RFC 5545 sections 3.3.4, 3.6.1, 3.8.2.2). */
function asDates(lines: readonly string[], span: ZoneSpan): string[] {
  const dateAt = (ms: number) => stamp(ms, offsetMin(span, ms)).slice(0, 8)
  const timeOf = (name: string) => utcMs(lines.find((l) => l.startsWith(name))!.slice(name.length))
  const first = dateAt(timeOf(START))
  const last = dateAt(Math.max(timeOf(START), timeOf(END) - 1))
  const after = new Date(utcMs(`${last}T000000Z`) + DAY_MS).toISOString().slice(0, 10).replaceAll('-', '')
  return lines.flatMap((line) => {
    if (line.startsWith(START)) return [`DTSTART;VALUE=DATE:${first}`]
    if (line.startsWith(END)) return [`DTEND;VALUE=DATE:${after}`]
    return line.startsWith(WHOLE_DAYS) ? [] : [line]
  })
}

/** Properties before sub-components (grammar of RFC 5545 section 3.6.1): some readers refuse an early VALARM. */
function propertiesFirst(lines: readonly string[]): string[] {
  const own: string[] = []
  const alarms: string[] = []
  let inAlarm = false
  for (const line of lines) {
    if (line === 'BEGIN:VALARM') inAlarm = true
    if (inAlarm) alarms.push(line)
    else if (line !== 'END:VEVENT') own.push(line)
    if (line === 'END:VALARM') inAlarm = false
  }
  return [...own, ...alarms, 'END:VEVENT']
}

export interface Heading {
  readonly productId: string
  readonly name: string
  readonly description: string
  /** A CSS3 colour name, and the same for the one reader that wants hex. */
  readonly color: string
  readonly colorHex: string
}

/** How often a reader may ask again at most; it is a floor, the reader decides (RFC 7986 section 5.7). */
const REFRESH = 'PT1H'

const headingLines = ({ name, description, color, colorHex }: Heading): string[] => {
  const title = escapeText(oneLine(name))
  return [
    `NAME:${title}`,
    `X-WR-CALNAME:${title}`,
    `DESCRIPTION:${escapeText(oneLine(description))}`,
    `COLOR:${color}`,
    `X-APPLE-CALENDAR-COLOR:${colorHex}`,
    `REFRESH-INTERVAL;VALUE=DURATION:${REFRESH}`,
    `X-PUBLISHED-TTL:${REFRESH}`,
  ]
}

/**
 * What the writer falls short of, in one pass: calendar properties escaped and in their place, the zone beside the
 * times it explains, start and end in that zone or as dates, alarms last, lines folded, CRLF after the last one.
 */
export function cleanCalendar(events: readonly string[], heading: Heading, span: ZoneSpan): string {
  const out = ['BEGIN:VCALENDAR', 'VERSION:2.0', `PRODID:${heading.productId}`, 'CALSCALE:GREGORIAN']
  out.push(...headingLines(heading), ...zoneLines(span))
  for (const event of events) {
    const lines = event.split('\r\n').filter((l) => l !== '')
    const placed = lines.some((l) => l.startsWith(WHOLE_DAYS)) ? asDates(lines, span) : inZone(lines, span)
    out.push(...propertiesFirst(placed).map((l) => (l.startsWith(LIFT) ? l.slice(LIFT.length) : l)))
  }
  out.push('END:VCALENDAR')
  return `${out.map(fold).join('\r\n')}\r\n`
}
