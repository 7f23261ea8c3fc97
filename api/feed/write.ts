import ical, { ICalAlarmType, ICalEventStatus, ICalEventTransparency } from 'ical-generator'
import type { Family } from '../protocol/types.ts'
import type { Temporal } from '../time.ts'
import { cleanCalendar, LIFT, WHOLE_DAYS } from './clean.ts'
import { manyLines, oneLine } from './text.ts'
import { CANCELLED_SHOWN_DAYS, type FeedSettings, type FeedTask } from './types.ts'
import { FEED_WORDS } from './words.ts'
import { zoneSpan } from './zone.ts'

/** CSS3 colour names (RFC 7986 section 5.9) near the six hues of the day ground. */
const COLORS: Readonly<Record<Family, string>> = {
  juice: 'darkkhaki',
  ferment: 'sienna',
  check: 'steelblue',
  move: 'seagreen',
  lees: 'indigo',
  protect: 'dimgray',
}

/** A check is a few minutes beside other work: it does not block the reader's calendar (RFC 5545 section 3.8.2.7). */
const TRANSPARENT: ReadonlySet<Family> = new Set<Family>(['check'])

const isoDuration = (min: number): string => {
  const abs = Math.abs(Math.round(min))
  const days = Math.floor(abs / 1440)
  const hours = Math.floor((abs % 1440) / 60)
  const minutes = abs % 60
  const time = `${hours ? `${hours}H` : ''}${minutes ? `${minutes}M` : ''}`
  return `${min < 0 ? '-' : ''}P${days ? `${days}D` : ''}${time ? `T${time}` : days ? '' : 'T0M'}`
}

/** A URI takes no TEXT escapes, so it must hold nothing that would be escaped. */
const uri = (text: string) => text.replaceAll(',', '%2C').replaceAll(';', '%3B').replaceAll('\\', '%5C')

const date = (at: Temporal.Instant) => new Date(at.epochMilliseconds)

/** The mark comes first where it changes what the reader must do; phones cut a title at some 30 characters. */
function summary(task: FeedTask, settings: FeedSettings): string {
  const words = FEED_WORDS[settings.language]
  // Nothing here depends on when the feed is read: equal rows must give equal bytes.
  const marks: Partial<Record<FeedTask['state'], string>> = {
    done: `✓ ${words.done}: `,
    skipped: `${words.skipped}: `,
    cancelled: `${words.cancelled}: `,
  }
  const mark = marks[task.state] ?? ''
  return oneLine(`${mark}${[task.where, task.action, task.lotCode].filter(Boolean).join(' · ')}`)
}

function description(task: FeedTask, settings: FeedSettings): string {
  const words = FEED_WORDS[settings.language]
  const open = task.state !== 'done' && task.state !== 'skipped' && task.state !== 'cancelled'
  return manyLines(
    [
      task.caution && open ? `${words.caution}: ${task.caution}` : '',
      task.lotCode ? `${words.lot}: ${task.lotCode} ${task.lotName}` : '',
      task.where ? `${words.where}: ${task.where}` : '',
      task.people.length ? `${words.people}: ${task.people.join(', ')}` : '',
      task.detail,
      ...(settings.showDoses ? task.doses.map((d) => `${words.dose}: ${d}`) : []),
      task.reason ? `${words.reason}: ${task.reason}` : '',
      task.forecast && open ? words.forecast : '',
      task.wholeDays && open ? words.wholeDays : '',
      `${words.open}: ${settings.baseUrl}${task.path}`,
    ]
      .filter(Boolean)
      .join('\n'),
  )
}

/** Order links stand in the earlier task and name the later one (RFC 9253 section 5). */
const orderLinks = (task: FeedTask): { key: string; value: string }[] =>
  task.next.map((n) => ({
    key: `${LIFT}RELATED-TO;RELTYPE=FINISHTOSTART;GAP=${isoDuration(n.gapMin)}`,
    value: n.uid,
  }))

function status(task: FeedTask): ICalEventStatus {
  if (task.state === 'cancelled') return ICalEventStatus.CANCELLED
  return task.forecast && task.state !== 'done' && task.state !== 'skipped'
    ? ICalEventStatus.TENTATIVE
    : ICalEventStatus.CONFIRMED
}

/** Longest a cancelled task is shown: long enough for every reader to have fetched it once. */
function isShown(task: FeedTask, settings: FeedSettings, nowMs: number): boolean {
  if (task.endAt.epochMilliseconds < settings.fromAt.epochMilliseconds) return false
  if (task.startAt.epochMilliseconds >= settings.toAt.epochMilliseconds) return false
  return task.state !== 'cancelled' || nowMs - task.changedAt.epochMilliseconds < CANCELLED_SHOWN_DAYS * 86_400_000
}

/**
 * One feed as RFC 5545 text: VEVENT only, no METHOD, stamps from the rows, so equal rows give equal bytes.
 *
 * @param tasks  in any order; written by start, then UID
 * @param nowAt  decides only which cancelled tasks are still shown
 * @throws RangeError when the zone is unknown to the runtime
 */
export function writeFeed(tasks: readonly FeedTask[], settings: FeedSettings, nowAt: Temporal.Instant): string {
  const span = zoneSpan(settings.zone, settings.fromAt, settings.toAt)
  const shown = tasks
    .filter((t) => isShown(t, settings, nowAt.epochMilliseconds))
    .sort((a, b) => a.startAt.epochMilliseconds - b.startAt.epochMilliseconds || (a.uid < b.uid ? -1 : 1))
  const uids = new Set(shown.map((t) => t.uid))
  const calendar = ical({
    prodId: { company: 'Leesway', product: 'Cellar plan', language: settings.language.toUpperCase() },
  })
  for (const task of shown) {
    const title = summary(task, settings)
    const ends = Math.max(task.endAt.epochMilliseconds, task.startAt.epochMilliseconds + 60_000)
    const alarm = settings.alarmMin[task.family]
    const open = task.state === 'planned' || task.state === 'due' || task.state === 'blocked'
    calendar.createEvent({
      id: task.uid,
      sequence: task.sequence,
      stamp: date(task.changedAt),
      lastModified: date(task.changedAt),
      start: date(task.startAt),
      end: new Date(ends),
      summary: title,
      description: description(task, settings),
      location: oneLine([task.where, settings.cellarName].filter(Boolean).join(', ')),
      status: status(task),
      // A day without its hour keeps nobody from other things.
      transparency:
        task.wholeDays || TRANSPARENT.has(task.family)
          ? ICalEventTransparency.TRANSPARENT
          : ICalEventTransparency.OPAQUE,
      alarms:
        alarm !== undefined && open && !task.wholeDays
          ? [{ type: ICalAlarmType.display, trigger: alarm * 60, description: title }]
          : [],
      x: [
        { key: `${LIFT}URL`, value: uri(`${settings.baseUrl}${task.path}`) },
        ...[task.family, task.lotCode].filter(Boolean).map((c) => ({ key: `${LIFT}CATEGORIES`, value: oneLine(c) })),
        ...(task.wholeDays ? [{ key: WHOLE_DAYS, value: 'TRUE' }] : []),
        { key: `${LIFT}COLOR`, value: COLORS[task.family] },
        ...orderLinks({ ...task, next: task.next.filter((n) => uids.has(n.uid) && n.uid !== task.uid) }),
      ],
    })
  }
  const heading = {
    productId: `-//Leesway//Cellar plan//${settings.language.toUpperCase()}`,
    name: settings.name,
    description: settings.cellarName,
    color: 'olive',
    colorHex: '#8A9352',
  }
  // Event by event: the calendar's own writer folds a character at a time, 1 ms an event measured on version 10.2.
  return cleanCalendar(
    calendar.events().map((e) => e.toString()),
    heading,
    span,
  )
}
