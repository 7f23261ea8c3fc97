import ICAL from 'ical.js'
import { no, ok, type Result } from '../result.ts'
import { Temporal } from '../time.ts'
import { oneLine } from './text.ts'

/** Something from a calendar that is not ours: a public holiday, a bottling line's booking, a harvest contractor. */
export interface OutsideEntry {
  readonly uid: string
  readonly title: string
  /** A whole day in the cellar, or a span of time. */
  readonly span:
    | { readonly kind: 'days'; readonly fromOn: Temporal.PlainDate; readonly untilOn: Temporal.PlainDate }
    | { readonly kind: 'time'; readonly fromAt: Temporal.Instant; readonly toAt: Temporal.Instant }
}

export interface OutsideCalendar {
  readonly name: string
  readonly entries: readonly OutsideEntry[]
  /** What could not be taken, and why, in words for the preview. */
  readonly left: readonly { readonly title: string; readonly why: string }[]
}

/** A larger file is a mistake or an attack. 2 MB holds some 5,000 entries. */
export const OUTSIDE_MAX_CHARS = 2_000_000
const MAX_ENTRIES = 5_000
/** A repeated entry is written out to this many dates inside the window, then cut with a word. */
const MAX_REPEATS = 400

type Refusal = 'too-large' | 'not-a-calendar'

const instant = (time: ICAL.Time, zone: string): Temporal.Instant => {
  // A floating time means the cellar's own clock here: a person typed it beside the tank.
  if (time.zone === ICAL.Timezone.localTimezone || time.zone?.tzid === 'floating')
    return Temporal.PlainDateTime.from({
      year: time.year,
      month: time.month,
      day: time.day,
      hour: time.hour,
      minute: time.minute,
    })
      .toZonedDateTime(zone)
      .toInstant()
  return Temporal.Instant.fromEpochMilliseconds(time.toUnixTime() * 1000)
}

const plainDay = (time: ICAL.Time) => Temporal.PlainDate.from({ year: time.year, month: time.month, day: time.day })

function span(start: ICAL.Time, end: ICAL.Time, zone: string): OutsideEntry['span'] | null {
  if (start.isDate) {
    const fromOn = plainDay(start)
    const untilOn = plainDay(end).subtract({ days: end.compare(start) > 0 ? 1 : 0 })
    return { kind: 'days', fromOn, untilOn }
  }
  const fromAt = instant(start, zone)
  const toAt = instant(end, zone)
  return Temporal.Instant.compare(toAt, fromAt) > 0 ? { kind: 'time', fromAt, toAt } : null
}

/**
 * Reads an outside calendar for a preview; nothing is written here.
 *
 * @param text   RFC 5545 text
 * @param zone   the cellar's IANA zone, for times without one
 * @param fromAt entries that end before are left out
 * @param toAt   entries that start later are left out; repeats are written out up to here
 */
export function readOutside(
  text: string,
  zone: string,
  fromAt: Temporal.Instant,
  toAt: Temporal.Instant,
): Result<OutsideCalendar, Refusal> {
  if (text.length > OUTSIDE_MAX_CHARS) return no('too-large')
  let root: ICAL.Component
  try {
    root = new ICAL.Component(ICAL.parse(text.replace(/^\uFEFF/, '')))
  } catch {
    return no('not-a-calendar')
  }
  if (root.name !== 'vcalendar') return no('not-a-calendar')
  ICAL.TimezoneService.reset()
  for (const z of root.getAllSubcomponents('vtimezone')) ICAL.TimezoneService.register(new ICAL.Timezone(z))

  const entries: OutsideEntry[] = []
  const left: { title: string; why: string }[] = []
  const inWindow = (s: OutsideEntry['span']) => {
    const [a, b] =
      s.kind === 'time'
        ? [s.fromAt, s.toAt]
        : [s.fromOn.toZonedDateTime(zone).toInstant(), s.untilOn.add({ days: 1 }).toZonedDateTime(zone).toInstant()]
    return Temporal.Instant.compare(b, fromAt) > 0 && Temporal.Instant.compare(a, toAt) < 0
  }
  for (const component of root.getAllSubcomponents('vevent').slice(0, MAX_ENTRIES)) {
    const title = oneLine(String(component.getFirstPropertyValue('summary') ?? '')) || 'without a title'
    try {
      if (component.getFirstPropertyValue('status') === 'CANCELLED') {
        left.push({ title, why: 'it is cancelled' })
        continue
      }
      const event = new ICAL.Event(component)
      const take = (start: ICAL.Time, end: ICAL.Time, uid: string) => {
        const s = span(start, end, zone)
        if (s === null) left.push({ title, why: 'it ends before it starts' })
        else if (inWindow(s)) entries.push({ uid, title, span: s })
      }
      if (!event.isRecurring()) take(event.startDate, event.endDate, event.uid)
      else {
        const repeats = event.iterator()
        let n = 0
        for (let next = repeats.next(); next && n < MAX_REPEATS; next = repeats.next(), n++) {
          if (next.toUnixTime() * 1000 > toAt.epochMilliseconds) break
          const at = event.getOccurrenceDetails(next)
          take(at.startDate, at.endDate, `${event.uid}/${next.toString()}`)
        }
        if (n === MAX_REPEATS)
          left.push({ title, why: `it repeats more than ${MAX_REPEATS} times; the rest was left out` })
      }
    } catch (e) {
      left.push({ title, why: `its dates could not be read (${e instanceof Error ? e.message : 'unknown form'})` })
    }
  }
  return ok({
    name: oneLine(String(root.getFirstPropertyValue('x-wr-calname') ?? root.getFirstPropertyValue('name') ?? '')),
    entries,
    left,
  })
}
