import { Temporal } from '../time.ts'

/** One change of a zone's clock: from this moment on the offset holds. */
export interface Change {
  readonly fromMs: number
  readonly offsetMin: number
  readonly offsetBeforeMin: number
}

export interface ZoneSpan {
  readonly zone: string
  /** Ascending. The first says which offset holds at the start of the span; later ones are real changes. */
  readonly changes: readonly Change[]
}

const offsetMinAt = (at: Temporal.ZonedDateTime) => at.offsetNanoseconds / 60_000_000_000

/**
 * The clock changes of a zone over a span, with the two before it, from the very zone data that turns instants into
 * local times: a table of another age would contradict the times beside it.
 *
 * @throws RangeError when the zone is not an IANA name this runtime knows
 */
export function zoneSpan(zone: string, fromAt: Temporal.Instant, toAt: Temporal.Instant): ZoneSpan {
  const start = fromAt.toZonedDateTimeISO(zone)
  const before = start.getTimeZoneTransition('previous')
  const beforeThat = before?.getTimeZoneTransition('previous') ?? null
  const changes: Change[] = []
  let next: Temporal.ZonedDateTime | null = beforeThat ?? before
  // A zone without a recent change would otherwise be searched from its first entry on.
  if (!next || next.epochMilliseconds < fromAt.epochMilliseconds - 5 * 366 * 86_400_000) {
    const offsetMin = offsetMinAt(start)
    changes.push({ fromMs: fromAt.epochMilliseconds - 366 * 86_400_000, offsetMin, offsetBeforeMin: offsetMin })
    next = start.getTimeZoneTransition('next')
  }
  while (next && next.epochMilliseconds <= toAt.epochMilliseconds) {
    const offsetBeforeMin = offsetMinAt(next.subtract({ milliseconds: 1 }))
    const offsetMin = offsetMinAt(next)
    if (offsetMin !== offsetBeforeMin) changes.push({ fromMs: next.epochMilliseconds, offsetMin, offsetBeforeMin })
    next = next.getTimeZoneTransition('next')
  }
  if (changes.length === 0) {
    const offsetMin = offsetMinAt(start)
    changes.push({ fromMs: fromAt.epochMilliseconds, offsetMin, offsetBeforeMin: offsetMin })
  }
  return { zone, changes }
}

function changeAt(span: ZoneSpan, ms: number): Change {
  let found = span.changes[0]!
  for (const change of span.changes) if (change.fromMs <= ms) found = change
  return found
}

/** The zone's offset at a moment, minutes east of UTC. */
export function offsetMin(span: ZoneSpan, ms: number): number {
  const change = changeAt(span, ms)
  return ms < change.fromMs ? change.offsetBeforeMin : change.offsetMin
}

/**
 * Whether a moment's local time happens twice. RFC 5545 section 3.3.5 takes the first of the two, and readers differ
 * (measured: one widespread parser takes the second), so both are written in UTC.
 */
export function happensTwice(span: ZoneSpan, ms: number): boolean {
  return span.changes.some((c) => {
    const backMs = (c.offsetBeforeMin - c.offsetMin) * 60_000
    return backMs > 0 && ms >= c.fromMs - backMs && ms < c.fromMs + backMs
  })
}

const two = (n: number) => String(n).padStart(2, '0')

/** `20270322T053000` at an offset. */
export function stamp(ms: number, offset: number): string {
  return new Date(ms + offset * 60_000).toISOString().slice(0, 19).replaceAll(/[-:]/g, '')
}

const utcOffset = (min: number) => {
  const abs = Math.abs(min)
  const seconds = Math.round((abs % 1) * 60)
  return `${min < 0 ? '-' : '+'}${two(Math.floor(abs / 60))}${two(Math.floor(abs % 60))}${seconds ? two(seconds) : ''}`
}

interface Observance {
  readonly kind: 'STANDARD' | 'DAYLIGHT'
  readonly offsetFrom: number
  readonly offsetTo: number
  /** Local onset in the old offset, as section 3.6.5 asks. */
  readonly onsets: readonly Temporal.PlainDateTime[]
}

const localOnset = (c: Change) =>
  Temporal.Instant.fromEpochMilliseconds(c.fromMs + c.offsetBeforeMin * 60_000)
    .toZonedDateTimeISO('UTC')
    .toPlainDateTime()

/** The daylight offset is the larger of a zone's two; a lone offset is standard. */
function observances(span: ZoneSpan): Observance[] {
  const least = Math.min(...span.changes.map((c) => c.offsetMin))
  const groups = new Map<string, Observance>()
  for (const c of span.changes) {
    const id = `${c.offsetBeforeMin}/${c.offsetMin}`
    const group = groups.get(id)
    const onsets = [...(group?.onsets ?? []), localOnset(c)]
    groups.set(id, {
      kind: c.offsetMin > least ? 'DAYLIGHT' : 'STANDARD',
      offsetFrom: c.offsetBeforeMin,
      offsetTo: c.offsetMin,
      onsets,
    })
  }
  return [...groups.values()]
}

const DAYS = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU'] as const

/** A yearly rule that gives exactly these onsets, one a year, or none. */
function yearlyRule(onsets: readonly Temporal.PlainDateTime[]): string | null {
  const first = onsets[0]
  if (!first || onsets.length < 2) return null
  const consecutive = onsets.every((o, i) => i === 0 || o.year === onsets[i - 1]!.year + 1)
  const alike = onsets.every(
    (o) => o.month === first.month && o.dayOfWeek === first.dayOfWeek && o.toPlainTime().equals(first.toPlainTime()),
  )
  if (!consecutive || !alike) return null
  const day = DAYS[first.dayOfWeek - 1]
  const nth = Math.ceil(first.day / 7)
  if (onsets.every((o) => o.day + 7 > o.daysInMonth)) return `FREQ=YEARLY;BYMONTH=${first.month};BYDAY=-1${day}`
  if (onsets.every((o) => Math.ceil(o.day / 7) === nth)) return `FREQ=YEARLY;BYMONTH=${first.month};BYDAY=${nth}${day}`
  return null
}

const local = (o: Temporal.PlainDateTime) =>
  `${String(o.year).padStart(4, '0')}${two(o.month)}${two(o.day)}T${two(o.hour)}${two(o.minute)}${two(o.second)}`

function observanceLines(o: Observance, onset: Temporal.PlainDateTime, rule: string | null): string[] {
  return [
    `BEGIN:${o.kind}`,
    `DTSTART:${local(onset)}`,
    `TZOFFSETFROM:${utcOffset(o.offsetFrom)}`,
    `TZOFFSETTO:${utcOffset(o.offsetTo)}`,
    ...(rule ? [`RRULE:${rule}`] : []),
    `END:${o.kind}`,
  ]
}

/**
 * VTIMEZONE (RFC 5545 section 3.6.5). Yearly rules where they give exactly the span's changes, since one widespread
 * reader takes only those; one observance for each change where no yearly rule fits.
 */
export function zoneLines(span: ZoneSpan): string[] {
  const all = observances(span)
  const rules = all.map((o) => yearlyRule(o.onsets))
  const byRule = all.length === 2 && rules.every((r) => r !== null)
  const body = byRule
    ? all.flatMap((o, i) => observanceLines(o, o.onsets[0]!, rules[i]!))
    : span.changes.flatMap((c) => {
        const o = all.find((g) => g.offsetFrom === c.offsetBeforeMin && g.offsetTo === c.offsetMin)!
        return observanceLines(o, localOnset(c), null)
      })
  return ['BEGIN:VTIMEZONE', `TZID:${span.zone}`, ...body, 'END:VTIMEZONE']
}
