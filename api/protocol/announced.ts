/**
 * Work that people have been told of does not move without a word. A new plan that would move it is made again with that
 * work held where it stands; only what cannot be held without breaking a hard rule moves at once. The rest is proposed.
 */
import { dayOf, minutesFrom, type Temporal, wallTimeAt } from '../time.ts'
import type { Facts, TaskFact } from './facts.ts'
import type { Because } from './moved.ts'
import type { BrokenWords, CellarPlan, Grain, TaskPlan, TaskState } from './types.ts'

/** A task as people know it. */
export interface KnownTask {
  readonly key: string
  readonly lotId: string | null
  readonly state: TaskState
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  readonly people: readonly string[]
  readonly pinned: boolean
  /** Of work that is planned to the day nobody has been told an hour. */
  readonly grain?: Grain
}

export interface AnnouncedMove {
  readonly was: KnownTask
  readonly wants: TaskPlan
  /** It could not wait: the plan has it already. */
  readonly applied: boolean
}

/** The same as it is kept and told: moments as ISO text. */
export interface ProposedMove {
  readonly key: string
  readonly lotCode: string
  readonly name: string
  readonly fromStartAt: string
  readonly toStartAt: string
  /** Absent: to the minute. Where it was, it was announced to the minute. */
  readonly toGrain?: Grain
  readonly fromPeople: readonly string[]
  readonly toPeople: readonly string[]
  readonly why: string
  /** It could not wait for anybody: the plan has it already. */
  readonly applied: boolean
}

export const proposedMove = ({ was, wants, applied }: AnnouncedMove, why: string): ProposedMove => ({
  key: was.key,
  lotCode: wants.lotCode,
  name: wants.name,
  fromStartAt: was.startAt.toString(),
  toStartAt: wants.startAt.toString(),
  ...(wants.grain === 'day' ? { toGrain: wants.grain } : {}),
  fromPeople: was.people,
  toPeople: wants.people,
  why,
  applied,
})

export interface Guarded {
  readonly plan: CellarPlan
  readonly moves: readonly AnnouncedMove[]
}

/** People are told today what they do until the end of tomorrow. Common practice: the list is given out the evening before. */
const ANNOUNCED_DAYS = 2
/** A shift of a few minutes is no news to anybody. */
const NEWS_MIN = 15
/** Each try lets go of what broke; what is still stuck then moves. */
const TRIES = 4

const OPEN: readonly TaskState[] = ['planned', 'due', 'blocked']

/**
 * @param free the plan as the planner would have it
 * @param planOf plans other facts in the same way
 * @param agreed keys of tasks whose move somebody has agreed to
 */
export function guardedPlan(
  given: {
    readonly facts: Facts
    readonly known: readonly KnownTask[]
    readonly free: CellarPlan
    readonly nowAt: Temporal.Instant
    readonly because: Because
    readonly agreed?: ReadonlySet<string>
  },
  planOf: (facts: Facts) => CellarPlan,
): Guarded {
  const { facts, known, free, nowAt, because } = given
  const agreed = given.agreed ?? new Set<string>()
  const moves = announcedMoves(known, free, nowAt, facts.cellar.zone).filter(({ was }) => !agreed.has(was.key))
  const dictated = new Set(moves.filter(({ was }) => isDictated(was, because)).map(({ was }) => was.key))
  const waiting = new Map(moves.flatMap(({ was }) => (dictated.has(was.key) ? [] : [[was.key, was] as const])))
  let plan = free
  for (let attempt = 0; waiting.size > 0; attempt++) {
    plan = unpinned(planOf(withPins(facts, [...waiting.values()], nowAt)), waiting)
    const stuck = freshHard(plan.broken, free.broken).flatMap((b) => b.taskKeys)
    if (stuck.length === 0) break
    const letGo = inTheWay([...waiting.values()], stuck, plan, free)
    // Nothing held is in the way, or letting go piece by piece does not help: the plan as it wants to be.
    if (letGo.length === 0 || attempt + 1 === TRIES) waiting.clear()
    for (const was of letGo) waiting.delete(was.key)
    if (waiting.size === 0) plan = free
  }
  const now = new Map(plan.tasks.map((t) => [t.key, t]))
  return {
    plan,
    moves: moves
      .map(({ was, wants }) => ({
        was,
        wants: waiting.has(was.key) ? wants : (now.get(was.key) ?? wants),
        applied: !waiting.has(was.key),
      }))
      .filter((m) => !m.applied || isNews(m.was, m.wants)),
  }
}

/** Moves of announced work that are news, by start. */
function announcedMoves(known: readonly KnownTask[], plan: CellarPlan, nowAt: Temporal.Instant, zone: string) {
  const untilMs = wallTimeAt(dayOf(nowAt, zone).add({ days: ANNOUNCED_DAYS }), 0, zone).epochMilliseconds
  const next = new Map(plan.tasks.map((t) => [t.key, t]))
  return known
    .filter(
      (t) =>
        OPEN.includes(t.state) &&
        !t.pinned &&
        t.grain !== 'day' &&
        t.startAt.epochMilliseconds > nowAt.epochMilliseconds &&
        t.startAt.epochMilliseconds < untilMs,
    )
    .flatMap((was) => {
      const wants = next.get(was.key)
      return wants && OPEN.includes(wants.state) && isNews(was, wants) ? [{ was, wants }] : []
    })
    .sort((a, b) => minutesFrom(b.was.startAt, a.was.startAt) || (a.was.key < b.was.key ? -1 : 1))
}

const isNews = (was: KnownTask, wants: TaskPlan): boolean =>
  Math.abs(minutesFrom(was.startAt, wants.startAt)) >= NEWS_MIN || was.people.join() !== wants.people.join()

/** The wine that was measured or worked on decides for itself; so does the work of somebody who is not there. */
const isDictated = (was: KnownTask, because: Because): boolean =>
  (was.lotId !== null && (was.lotId === because.lotId || (because.lotIds ?? []).includes(was.lotId))) ||
  (because.personId !== undefined && was.people.includes(because.personId))

/** Work of a lot that cannot stand moves with that lot; where no lot is in the way, whoever works at the same time is. */
function inTheWay(
  held: readonly KnownTask[],
  stuck: readonly string[],
  plan: CellarPlan,
  free: CellarPlan,
): readonly KnownTask[] {
  const keys = new Set(stuck)
  const tasks = [...plan.tasks, ...free.tasks].filter((t) => keys.has(t.key))
  const lots = new Set(tasks.flatMap((t) => t.lotId ?? []))
  const own = held.filter((t) => keys.has(t.key) || (t.lotId !== null && lots.has(t.lotId)))
  if (own.length > 0) return own
  return held.filter((t) =>
    tasks.some((s) => minutesFrom(s.startAt, t.endAt) > 0 && minutesFrom(t.startAt, s.endAt) > 0),
  )
}

const withPins = (facts: Facts, tasks: readonly KnownTask[], nowAt: Temporal.Instant): Facts => ({
  ...facts,
  taskFacts: [
    ...facts.taskFacts,
    ...tasks.map(
      (t): TaskFact => ({
        id: `held ${t.key}`,
        taskKey: t.key,
        kind: 'pin',
        at: nowAt,
        startAt: t.startAt,
        ...(t.people.length > 0 ? { people: t.people } : {}),
      }),
    ),
  ],
})

/** Held for now is not fixed by a person. */
const unpinned = (plan: CellarPlan, held: ReadonlyMap<string, KnownTask>): CellarPlan => ({
  ...plan,
  tasks: plan.tasks.map((t) =>
    held.has(t.key) ? { ...t, pinned: false, why: HELD_WORDS, whyNotLater: HELD_WORDS } : t,
  ),
})

const HELD_WORDS = 'kept where people know it until somebody agrees to a move'

function freshHard(after: readonly BrokenWords[], before: readonly BrokenWords[]): readonly BrokenWords[] {
  const sign = (b: BrokenWords) => [b.rule, ...b.taskKeys].join(' ')
  const known = new Set(before.map(sign))
  return after.filter((b) => b.strength === 'hard' && !known.has(sign(b)))
}
