import { loadPlanFacts } from '../db/queries/facts.ts'
import { lockPlan, tell } from '../db/queries/locks.ts'
import { findPlanRevision, savePlan } from '../db/queries/plans.ts'
import { listAllTasks } from '../db/queries/seen-tasks.ts'
import type { StoredTask } from '../db/queries/tasks.ts'
import type { Db } from '../db/types.ts'
import { besideOf, knownPlan } from './beside.ts'
import { CHANNEL, type Change } from './changes.ts'
import { newId } from './ids.ts'
import { knownPlanOf } from './known-plan.ts'
import type { Order, Ordered } from './order.ts'
import { type Asked, type Planner, plannerHere } from './planning.ts'
import { keepProposal } from './proposals.ts'
import type { KnownTask } from './protocol/announced.ts'
import type { Facts } from './protocol/facts.ts'
import { endedBecause, withoutInherited } from './protocol/inherited.ts'
import type { Because } from './protocol/moved.ts'
import { hoursGained } from './protocol/trial/stay.ts'
import type { CellarPlan } from './protocol/types.ts'
import { same } from './schedule/same.ts'
import type { Temporal } from './time.ts'

export interface Replanned {
  /** Keys of tasks that are new, moved or cancelled. */
  readonly changed: readonly string[]
  readonly revision: number
  readonly change: Change
}

/** Plans in this thread, where nobody names another planner. */
const HERE = plannerHere()

/**
 * The one way a plan comes about: facts are read and planned, the plan is stored under the cellar's lock if they are
 * still the same, and the other servers are told. The facts must be committed before: a planner that fails must not take them along.
 */
export async function replan(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  because?: Because,
  planner: Planner = HERE,
): Promise<Replanned> {
  newerFacts.get(cellarId)?.giveUpFor(because)
  const done = await replanIf(db, cellarId, nowAt, async () => true, because, planner)
  if (!done) throw new Error('a plan that is always wanted was not made')
  return done
}

/**
 * The same where it is still wanted once the cellar's lock is held: two servers may plan at one moment, one stores.
 *
 * @returns undefined when another was first
 */
export async function replanIf(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  wanted: (db: Db) => Promise<boolean>,
  because?: Because,
  planner: Planner = HERE,
): Promise<Replanned | undefined> {
  let asked: Wanted = { cellarId, nowAt, because, planner }
  const underLock = (by: Planner) =>
    db.transaction(async (tx) => {
      await lockPlan(tx, cellarId)
      if (!(await wanted(tx))) return undefined
      const ground = await groundFor(tx, cellarId)
      return store(tx, asked, ground, await by.plan(cellarId, orderOf(asked, ground)))
    })
  if (!planner.away) return underLock(planner)
  return inTurn(cellarId, async () => {
    let givenUp = 0
    for (let attempt = 0; attempt < FREE_TRIES; ) {
      const ground = await db.transaction(async (tx) => ((await wanted(tx)) ? groundFor(tx, cellarId) : undefined))
      if (!ground) return undefined
      const ordered = await plannedUnlessNewer(asked, ground, givenUp < MOST_GIVEN_UP)
      if ('newer' in ordered) {
        givenUp++
        asked = { ...asked, because: ordered.newer.reduce(together, asked.because) }
        continue
      }
      attempt++
      const done = await db.transaction(async (tx) => {
        await lockPlan(tx, cellarId)
        if (!(await wanted(tx))) return 'not wanted'
        const now = await groundFor(tx, cellarId)
        return signOf(now) === signOf(ground) ? store(tx, asked, now, ordered) : 'overtaken'
      })
      if (done === 'not wanted') return undefined
      if (done !== 'overtaken') return done
    }
    // With the lock held nothing waits behind other cellars' plans: this thread stands still for one plan instead.
    return underLock(plannerHere())
  })
}

/** Who plans, and who may give up waiting for it. */
export interface By extends Asked {
  readonly planner: Planner
}

/** So often a plan is made without keeping others from the database; facts that come meanwhile make it worthless. */
const FREE_TRIES = 2

/** Facts may come faster than a plan is made: after so many that were given up, one is made to its end. */
const MOST_GIVEN_UP = 3

/** By cellar: ends the plan that is being made in this server, when facts come that it does not know. */
const newerFacts = new Map<string, { readonly giveUpFor: (because: Because | undefined) => void }>()

/** The plan of these facts, or why newer ones came before it was there. */
async function plannedUnlessNewer(
  asked: Wanted,
  ground: Ground,
  mayGiveUp: boolean,
): Promise<Ordered | { readonly newer: readonly (Because | undefined)[] }> {
  const { cellarId, planner } = asked
  const stopped = new AbortController()
  const newer: (Because | undefined)[] = []
  const giveUpFor = (because: Because | undefined) => {
    newer.push(because)
    stopped.abort()
  }
  if (mayGiveUp) newerFacts.set(cellarId, { giveUpFor })
  try {
    return await planner.plan(cellarId, orderOf(asked, ground), { signal: stopped.signal })
  } catch (error) {
    if (stopped.signal.aborted) return { newer }
    throw error
  } finally {
    newerFacts.delete(cellarId)
  }
}

/** Why a plan is made for both: what either of them touches may move, and where one of them has to ask, it asks. */
function together(a: Because | undefined, b: Because | undefined): Because | undefined {
  if (!a || !b) return a ?? b
  const lotIds = [a, b].flatMap((one) => [...(one.lotIds ?? []), ...(one.lotId ? [one.lotId] : [])])
  const chosenFor = [a, b].flatMap((one) => one.chosenFor ?? [])
  const freed = [a, b].flatMap((one) => one.freed ?? [])
  return { ...a, ...b, lotIds, chosenFor, freed, asks: Boolean(a.asks || b.asks), seen: Boolean(a.seen || b.seen) }
}

interface Wanted {
  readonly cellarId: string
  readonly nowAt: Temporal.Instant
  readonly because: Because | undefined
  readonly planner: Planner
}

/** What a plan is made of. */
export interface Ground {
  readonly facts: Facts
  readonly stored: readonly StoredTask[]
  readonly plannedAt: string
}

async function groundFor(db: Db, cellarId: string): Promise<Ground> {
  const facts = await loadPlanFacts(db, cellarId)
  if (!facts) throw new Error(`no cellar ${cellarId} to plan`)
  const plan = await findPlanRevision(db, cellarId)
  return { facts, stored: await listAllTasks(db, cellarId), plannedAt: `${plan?.revision} ${plan?.plannedAt}` }
}

/** Two grounds with one sign make one plan. */
const signOf = ({ facts, stored, plannedAt }: Ground): string =>
  JSON.stringify([facts, plannedAt, stored.map((t) => [t.key, t.revision, t.state])])

const orderOf = ({ nowAt, because }: Wanted, { facts, stored }: Ground): Order => ({
  facts,
  nowAt,
  ...knownPlanOf(stored, facts, because?.chosenFor, because?.freed),
  ...(because ? { guard: { because, known: stored.map(toldOf) } } : {}),
})

const toldOf = (t: StoredTask): KnownTask => ({
  key: t.key,
  lotId: t.lotId,
  state: t.state,
  startAt: t.startAt,
  endAt: t.endAt,
  people: t.people,
  pinned: t.rest.pinned,
  ...(t.rest.grain ? { grain: t.rest.grain } : {}),
})

async function store(db: Db, asked: Wanted, { facts, stored }: Ground, { free, plan, moves }: Ordered) {
  const { cellarId, nowAt, because } = asked
  const before = await knownPlan(db, cellarId, stored)
  const beside = besideOf(before, plan, facts, nowAt, because)
  const own = withoutInherited(plan, facts)
  const reasonFor = (key: string) => endedBecause(facts, key) ?? NO_LONGER
  const saved = await savePlan(db, cellarId, own, nowAt, { reasonFor, beside, known: stored })
  await keepProposal(db, cellarId, { before, free, moves, because, zone: facts.cellar.zone, nowAt })
  const change = { cellarId, revision: saved.revision, id: newId(nowAt.epochMilliseconds) }
  await tell(db, CHANNEL, JSON.stringify(change))
  return { changed: [...saved.changed, ...saved.cancelled], revision: saved.revision, change }
}

const turns = new Map<string, Promise<unknown>>()

/** One plan of a cellar at a time in this server. */
async function inTurn<T>(cellarId: string, work: () => Promise<T>): Promise<T> {
  const mine = (turns.get(cellarId) ?? Promise.resolve()).then(work, work)
  turns.set(cellarId, mine)
  try {
    return await mine
  } finally {
    if (turns.get(cellarId) === mine) turns.delete(cellarId)
  }
}

/**
 * The plan as it would be if the facts were others. Nothing is stored, nobody is told.
 *
 * @param change makes the other facts; the given ones stay as they are
 */
export async function tryPlan(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  change: (facts: Facts) => Facts,
  by?: By,
): Promise<CellarPlan> {
  return (await tryPlanOn(db, cellarId, nowAt, change, by)).plan
}

/** The same, with what it was made of: by the time the plan is there, the cellar may have gone on. */
export async function tryPlanOn(
  db: Db,
  cellarId: string,
  nowAt: Temporal.Instant,
  change: (facts: Facts) => Facts,
  { planner, ...asked }: By = { planner: HERE },
): Promise<{ readonly plan: CellarPlan; readonly ground: Ground }> {
  const ground = await groundFor(db, cellarId)
  const facts = change(ground.facts)
  const order = {
    facts,
    nowAt,
    ...knownPlanOf(ground.stored, facts, chosenFor(ground.facts, facts), hoursGained(ground.facts, facts)),
  }
  return { plan: (await planner.plan(cellarId, order, asked)).plan, ground }
}

const NO_LONGER = 'The plan no longer needs it.'

/** Lots whose vessels were chosen otherwise. */
const chosenFor = (before: Facts, now: Facts): readonly string[] => {
  const was = new Map(before.lots.map((lot) => [lot.id, lot.vesselPins]))
  return now.lots.filter((lot) => !same(was.get(lot.id), lot.vesselPins)).map((lot) => lot.id)
}
