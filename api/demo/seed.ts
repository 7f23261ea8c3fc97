import { savePlan } from '../../db/queries/plans.ts'
import type { Db } from '../../db/types.ts'
import { followStates } from '../ledger/states.ts'
import { planCellar } from '../plan.ts'
import type { Facts } from '../protocol/facts.ts'
import type { CellarPlan, TaskPlan } from '../protocol/types.ts'
import { dayOf, Temporal, wallTimeAt } from '../time.ts'
import { weeksTo, ZONE } from './dates.ts'
import { demoFacts } from './facts.ts'
import { historyOf } from './history.ts'
import { storeFacts } from './store.ts'

export interface SeedOptions {
  readonly nowAt: Temporal.Instant
  /** The story in its own dates, autumn 2027 in the south. Else it is moved so that today lies mid-vintage. */
  readonly ownDates?: boolean
}

/** Fills a database that has no cellar yet with the invented one, in the middle of its vintage. */
export async function seedDemo(db: Db, { nowAt, ownDates = false }: SeedOptions): Promise<void> {
  const empty = demoFacts({ shiftWeeks: ownDates ? 0 : weeksTo(dayOf(nowAt, ZONE)) })
  const { facts, past, plan } = liveThrough(empty, nowAt)
  await db.transaction(async (tx) => {
    await storeFacts(tx, facts, { demo: true, at: nowAt })
    // Daily rounds of past weeks are no part of today's plan; stored first, they stay as what was done.
    await savePlan(tx, facts.cellar.id, past, nowAt)
    await savePlan(tx, facts.cellar.id, plan, nowAt)
    await followStates(tx, facts.cellar.id)
  })
}

export interface Lived {
  readonly facts: Facts
  /** What was planned before the season and is done now. */
  readonly past: CellarPlan
  readonly plan: CellarPlan
}

/** Plans the season before its first fruit, lets it go as planned up to now, and plans again from what was written down. */
export function liveThrough(empty: Facts, nowAt: Temporal.Instant): Lived {
  const openedAt = seasonStart(empty)
  if (Temporal.Instant.compare(nowAt, openedAt) <= 0) {
    const plan = planCellar(empty, { nowAt })
    return { facts: empty, past: { ...plan, tasks: [], phases: [] }, plan }
  }
  // Each week of it was planned to the minute once it was near.
  const before = planCellar({ ...empty, cellar: { ...empty.cellar, exactWeeks: undefined } }, { nowAt: openedAt })
  const history = historyOf(empty, before, nowAt)
  const facts = { ...empty, ...history }
  const plan = planCellar(facts, { nowAt, previous: before.tasks.map(({ grain: _, ...t }) => t) })
  return { facts, past: { ...before, phases: [], tasks: doneOf(before, facts) }, plan }
}

/** Ten days before the first fruit, when samples begin. */
function seasonStart({ lots, cellar }: Facts): Temporal.Instant {
  const first = lots.map((l) => l.pickOn).reduce((a, b) => (Temporal.PlainDate.compare(a, b) <= 0 ? a : b))
  return wallTimeAt(first.subtract({ days: 10 }), 6 * 60, cellar.zone)
}

function doneOf(plan: CellarPlan, facts: Facts): readonly TaskPlan[] {
  const done = new Set(facts.taskFacts.flatMap((f) => (f.kind === 'done' ? [f.taskKey] : [])))
  return plan.tasks.filter((t) => done.has(t.key)).map((t) => ({ ...t, state: 'done', forecast: false }))
}
