import type { Db } from '../../db/types.ts'
import { dayOf, type Temporal } from '../time.ts'
import { weeksTo, ZONE } from './dates.ts'
import { demoFacts } from './facts.ts'
import { storeFacts } from './store.ts'

export interface SeedOptions {
  readonly nowAt: Temporal.Instant
  /** The story in its own dates, autumn 2027 in the south. Else it is moved so that today lies mid-vintage. */
  readonly ownDates?: boolean
}

/** Fills a database that has no cellar yet with the invented one. */
export async function seedDemo(db: Db, { nowAt, ownDates = false }: SeedOptions): Promise<void> {
  const facts = demoFacts({ shiftWeeks: ownDates ? 0 : weeksTo(dayOf(nowAt, ZONE)) })
  await db.transaction((tx) => storeFacts(tx, facts, { demo: true, at: nowAt }))
}
