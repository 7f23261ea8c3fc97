/** Why each moved task moved: the forecast behind it, the work before it, or what was told. */
import { dayOf, Temporal } from '../time.ts'
import type { TaskChange } from './beside.ts'
import type { CellarPlan, Grain, TaskPlan } from './types.ts'

/** What set off the new plan: `density 1012 of L01, read 2 Apr 08:00`. */
export interface Because {
  readonly lotId?: string | null
  readonly words: string
  /** More lots that were measured or worked on. */
  readonly lotIds?: readonly string[]
  /** Somebody who is away: their work has to go to others. */
  readonly personId?: string
  /** Somebody saw it with their own eyes: work ahead of a forecast moves because of it, not of the forecast. */
  readonly seen?: boolean
  /** Lots for which somebody chose vessels: where the plan before had their wine says nothing. */
  readonly chosenFor?: readonly string[]
  /** Hours in which somebody or something is to be had again: what was known to be broken then is looked at anew. */
  readonly freed?: readonly Hours[]
  /** Moves of announced work wait until somebody agrees; absent for what a person who leads decided. */
  readonly asks?: boolean
  /** Tasks whose moves were agreed to. */
  readonly agreed?: ReadonlySet<string>
}

export interface Hours {
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

/** The plan as people knew it. */
export interface Known {
  readonly tasks: ReadonlyMap<
    string,
    { readonly startAt: Temporal.Instant; readonly state: TaskPlan['state']; readonly grain?: Grain }
  >
  /** Likely end of each lot's ferment, and of its malolactic. */
  readonly dryAt: ReadonlyMap<string, Temporal.Instant>
  readonly malicGoneAt: ReadonlyMap<string, Temporal.Instant>
}

interface Event {
  readonly lotId: string
  readonly words: string
  readonly roots: ReadonlySet<string>
}

/** The clock goes on, and what is not done in time is placed again. */
const CLOCK: Because = { words: 'time went on' }

/** Ends move by minutes with every plan; people are told of an hour. */
const TOLD_MIN = 60

/** For each task that stood elsewhere before: from, to and the cause. */
export function movedBecause(
  known: Known,
  plan: CellarPlan,
  zone: string,
  nowAt: Temporal.Instant,
  because: Because = CLOCK,
): ReadonlyMap<string, TaskChange> {
  const moved = plan.tasks.filter((t) => hasMoved(t, known, zone))
  if (moved.length === 0) return new Map()
  const movedKeys = new Set(moved.map((t) => t.key))
  const events = eventsOf(known, plan, zone)
  const reached = events.map((event) => ({ event, keys: downstream(plan.tasks, event.roots) }))
  const names = new Map(plan.tasks.map((t) => [t.key, `${t.lotCode} ${t.name.toLowerCase()}`]))
  const lotNames = new Map(plan.tasks.flatMap((t) => (t.lotId ? [[t.lotId, t.lotCode] as const] : [])))

  const causeOf = (t: TaskPlan): string => {
    const over = reached.filter((r) => r.keys.has(t.key)).map((r) => r.event)
    const own = over.findLast((e) => e.lotId === t.lotId) ?? over.at(-1)
    if (own) return own.lotId === t.lotId ? own.words : `${lotNames.get(own.lotId) ?? 'another lot'} ${own.words}`
    const prev = t.prev.find((key) => movedKeys.has(key))
    if (prev) return `it follows ${names.get(prev) ?? prev}, which moved`
    if (because.seen && t.lotId !== null && t.lotId === because.lotId) return because.words
    const ownLot = events.find((e) => e.lotId === t.lotId)
    if (ownLot) return ownLot.words
    const other = events[0]
    if (other) return `it makes room: ${lotNames.get(other.lotId) ?? 'another lot'} ${other.words}`
    return because.words
  }
  return new Map(
    moved.map((t) => {
      const { startAt: fromAt, grain } = known.tasks.get(t.key)! // hasMoved found it there
      const words = `${causeOf(t)}, so ${fromTo(fromAt, t.startAt, zone, ' -> ')}`
      return [
        t.key,
        {
          at: nowAt.toString(),
          fromStartAt: fromAt.toString(),
          toStartAt: t.startAt.toString(),
          ...(grain === 'day' ? { fromGrain: grain } : {}),
          ...(t.grain === 'day' ? { toGrain: t.grain } : {}),
          words,
        },
      ] as const
    }),
  )
}

/** What is done or left out stands where it was done: that is no move. */
function hasMoved(t: TaskPlan, known: Known, zone: string): boolean {
  const old = known.tasks.get(t.key)
  if (!old || old.state === 'cancelled' || t.state === 'done' || t.state === 'skipped') return false
  return isElsewhere({ startAt: old.startAt, grain: old.grain ?? 'minute' }, t, zone)
}

/** Another minute; or, where only the day was or is meant, another day. */
export function isElsewhere(
  a: Pick<TaskPlan, 'startAt' | 'grain'>,
  b: Pick<TaskPlan, 'startAt' | 'grain'>,
  zone: string,
): boolean {
  if (Math.abs(a.startAt.epochMilliseconds - b.startAt.epochMilliseconds) < 60_000) return false
  return (a.grain === 'minute' && b.grain === 'minute') || !dayOf(a.startAt, zone).equals(dayOf(b.startAt, zone))
}

function eventsOf(known: Known, plan: CellarPlan, zone: string): readonly Event[] {
  const dry = plan.forecasts.flatMap((f) => {
    const old = known.dryAt.get(f.lotId)
    if (!old || !f.dryAt || !isTold(old, f.dryAt.likelyAt)) return []
    const isKnown = Temporal.Instant.compare(f.dryAt.earliestAt, f.dryAt.latestAt) === 0
    // A sweet wine is stopped before it is dry: its forecast is of that.
    const what = plan.tasks.some((t) => t.lotId === f.lotId && t.step === 'stop-chill') ? 'the stop' : 'dry'
    const verb = isKnown ? `${what} came` : `${what} is forecast for`
    return event(plan, f.lotId, verb, old, f.dryAt.likelyAt, DRY_STEPS, zone)
  })
  const malic = plan.phases.flatMap((p) => {
    const old = p.kind === 'malolactic' ? known.malicGoneAt.get(p.lotId) : undefined
    if (!old || !isTold(old, p.endAt)) return []
    return event(
      plan,
      p.lotId,
      p.endSpread ? 'malic gone is forecast for' : 'malic was gone',
      old,
      p.endAt,
      MALIC,
      zone,
    )
  })
  return [...dry, ...malic]
}

/** Work that ends a ferment: all that hangs on it moves with it. */
const DRY_STEPS = new Set(['check-dry', 'stop-chill', 'press-skins'])
const MALIC = new Set(['mlf-done'])

const isTold = (a: Temporal.Instant, b: Temporal.Instant): boolean =>
  Math.abs(a.epochMilliseconds - b.epochMilliseconds) >= TOLD_MIN * 60_000

function event(
  plan: CellarPlan,
  lotId: string,
  verb: string,
  fromAt: Temporal.Instant,
  toAt: Temporal.Instant,
  steps: ReadonlySet<string>,
  zone: string,
): readonly Event[] {
  const roots = new Set(plan.tasks.filter((t) => t.lotId === lotId && steps.has(t.step)).map((t) => t.key))
  const [to, from] = fromTo(toAt, fromAt, zone, '|').split('|')
  return [{ lotId, words: `${verb} ${to} instead of ${from}`, roots }]
}

/** The roots and everything that waits for them, over every link. */
function downstream(tasks: readonly TaskPlan[], roots: ReadonlySet<string>): ReadonlySet<string> {
  const next = new Map(tasks.map((t) => [t.key, t.next]))
  const found = new Set(roots)
  const queue = [...roots]
  for (let key = queue.pop(); key !== undefined; key = queue.pop()) {
    for (const after of next.get(key) ?? []) {
      if (found.has(after)) continue
      found.add(after)
      queue.push(after)
    }
  }
  return found
}

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const

/** `1 Apr -> 5 Apr`; with the hour where the day is the same. */
export function fromTo(fromAt: Temporal.Instant, toAt: Temporal.Instant, zone: string, between: string): string {
  const [from, to] = [fromAt, toAt].map((at) => at.toZonedDateTimeISO(zone)) as [
    Temporal.ZonedDateTime,
    Temporal.ZonedDateTime,
  ]
  const isSameDay = Temporal.PlainDate.compare(from.toPlainDate(), to.toPlainDate()) === 0
  const two = (n: number) => String(n).padStart(2, '0')
  const say = (z: Temporal.ZonedDateTime) =>
    `${z.day} ${MONTHS[z.month - 1]}${isSameDay ? ` ${two(z.hour)}:${two(z.minute)}` : ''}`
  return `${say(from)}${between}${say(to)}`
}
