import { customType, text } from 'drizzle-orm/pg-core'
import { isoOf, Temporal } from '../api/time.ts'

/** A moment: timestamptz <-> Temporal.Instant. The driver hands text through, so no Date ever stands between. */
export const instant = customType<{ data: Temporal.Instant; driverData: string }>({
  dataType: () => 'timestamptz(3)',
  toDriver: (at) => isoOf(at.epochMilliseconds),
  fromDriver: instantFrom,
})

/** A day of the cellar: date <-> Temporal.PlainDate. */
export const plainDate = customType<{ data: Temporal.PlainDate; driverData: string }>({
  dataType: () => 'date',
  toDriver: (on) => on.toString(),
  fromDriver: dayFrom,
})

/** `2027-03-22 05:00:00.25+00`, as a session in UTC writes it: read here at a fifth of the calendar library's time. */
const IN_UTC = /^(\d{4})-(\d\d)-(\d\d) (\d\d):(\d\d):(\d\d)(?:\.(\d{1,3}))?\+00$/

export function instantFrom(text: string): Temporal.Instant {
  const found = IN_UTC.exec(text)
  if (!found) return Temporal.Instant.from(text)
  const [, year, month, day, hour, minute, second, part = '0'] = found
  const ms = Date.UTC(+year!, +month! - 1, +day!, +hour!, +minute!, +second!, +part.padEnd(3, '0'))
  return Temporal.Instant.fromEpochMilliseconds(ms)
}

const DAY = /^(\d{4})-(\d\d)-(\d\d)$/

export function dayFrom(text: string): Temporal.PlainDate {
  const found = DAY.exec(text)
  return found ? new Temporal.PlainDate(+found[1]!, +found[2]!, +found[3]!) : Temporal.PlainDate.from(text)
}

/** Leads every key, index and reference of a table. */
export const cellarId = () => text('cellar_id').notNull()
