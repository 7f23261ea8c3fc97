import { customType, text } from 'drizzle-orm/pg-core'
import { Temporal } from '../api/time.ts'

/** A moment: timestamptz <-> Temporal.Instant. The driver hands text through, so no Date ever stands between. */
export const instant = customType<{ data: Temporal.Instant; driverData: string }>({
  dataType: () => 'timestamptz(3)',
  toDriver: (at) => at.toString(),
  fromDriver: (text) => Temporal.Instant.from(text),
})

/** A day of the cellar: date <-> Temporal.PlainDate. */
export const plainDate = customType<{ data: Temporal.PlainDate; driverData: string }>({
  dataType: () => 'date',
  toDriver: (on) => on.toString(),
  fromDriver: (text) => Temporal.PlainDate.from(text),
})

/** Leads every key, index and reference of a table. */
export const cellarId = () => text('cellar_id').notNull()
