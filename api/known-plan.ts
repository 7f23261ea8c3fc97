/** A stored plan as the planner takes it over, without what is to be placed as if nobody knew it. */
import type { StoredTask } from '../db/queries/tasks.ts'
import type { Order } from './order.ts'
import type { Known } from './plan.ts'
import type { Facts } from './protocol/facts.ts'
import type { Hours } from './protocol/moved.ts'
import { ticksOf } from './protocol/ticks.ts'
import { Temporal } from './time.ts'

/**
 * The plan people know. None yet: the planner makes a first one for itself. What stands where it does only because of a
 * pin that was taken back is placed as if nobody knew it.
 *
 * @param lotIds lots for which somebody chose vessels: when they work is known, where their wine was says nothing
 * @param freed  hours in which somebody or something is to be had again: lots that are in trouble then are placed anew there
 */
export function knownPlanOf(
  stored: readonly StoredTask[],
  facts: Pick<Facts, 'taskFacts'>,
  lotIds: readonly string[] = [],
  freed: readonly Hours[] = [],
): Pick<Order, 'previous'> {
  const ticks = ticksOf(facts.taskFacts)
  const isFreed = (t: StoredTask) => t.rest.pinned && !ticks.get(t.key)?.pin
  const mayBeBetter = (t: Known) => freed.some((hours) => touches(t, hours))
  const open = stored.filter((t) => t.state !== 'cancelled' && !isFreed(t))
  if (open.length === 0) return {}
  const inTrouble = new Set(
    open.flatMap((t) => (t.lotId && t.rest.broken.length && mayBeBetter(knownTask(t)) ? [t.lotId] : [])),
  )
  const isAnew = (t: StoredTask) =>
    t.lotId !== null && inTrouble.has(t.lotId) && MOVABLE.includes(t.state) && freed.some((hours) => isNear(t, hours))
  const isChosen = (t: StoredTask) => t.lotId !== null && lotIds.includes(t.lotId)
  return {
    previous: open
      .filter((t) => !isAnew(t))
      .map((t) => {
        const known = knownTask(t)
        const berths = isChosen(t) ? { fromVessels: [], toVessels: [] } : {}
        return { ...known, ...berths, ...(mayBeBetter(known) ? { broken: [] } : {}) }
      }),
  }
}

const MOVABLE: readonly StoredTask['state'][] = ['planned', 'due', 'blocked']

/** What follows within a day of these hours goes with it. */
const isNear = (t: StoredTask, { fromAt, toAt }: Hours): boolean =>
  Temporal.Instant.compare(t.startAt, toAt.add({ hours: 24 })) < 0 && Temporal.Instant.compare(t.endAt, fromAt) > 0

/** Work that may start in these hours, or stands in them. */
const touches = (t: Pick<Known, 'earliestAt' | 'endAt'>, { fromAt, toAt }: Hours): boolean =>
  Temporal.Instant.compare(t.earliestAt ?? t.endAt, toAt) < 0 && Temporal.Instant.compare(t.endAt, fromAt) > 0

const knownTask = (t: StoredTask): Known => ({
  key: t.key,
  startAt: t.startAt,
  endAt: t.endAt,
  people: t.people,
  ...(t.rest.grain ? { grain: t.rest.grain } : {}),
  machines: t.rest.machines,
  fromVessels: t.rest.fromVessels,
  toVessels: t.rest.toVessels,
  broken: t.rest.broken,
  earliestAt: Temporal.Instant.from(t.rest.earliestAt),
  latestAt: Temporal.Instant.from(t.rest.latestAt),
})
