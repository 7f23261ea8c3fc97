import type { Temporal } from '../../time.ts'
import { dayOf, minutesFrom } from '../../time.ts'
import type { TaskChange } from '../beside.ts'
import type { Facts } from '../facts.ts'
import type { TrialChange } from '../trial/change.ts'
import type { ComparedPlan, ComparedTask } from '../trial/compare.ts'
import { dayWords, momentWords } from '../trial/words.ts'
import type { Phase } from '../types.ts'
import type { ConflictTold } from './ways-out.ts'
import type { TaskCauses } from './why.ts'

/** What an answer is made of: sentences with numbers, and a table whose lines lead to tasks. */
export interface Answer {
  readonly verdict?: 'yes' | 'no' | 'with-changes'
  readonly sentences: readonly string[]
  readonly table?: {
    readonly head: readonly string[]
    readonly rows: readonly { readonly cells: readonly string[]; readonly taskKey?: string }[]
  }
  /** Changes that were tried to find it: they may be kept as a trial. */
  readonly tried?: readonly TrialChange[]
}

export interface AskTask extends ComparedTask {
  readonly name: string
  readonly detail: string
  readonly crew: number
  readonly fromVessels: readonly string[]
  readonly toVessels: readonly string[]
  readonly latestAt: Temporal.Instant
  readonly slackMin: number
  readonly prev: readonly string[]
  readonly next: readonly string[]
  readonly why: string
  readonly change?: TaskChange
}

export interface AskPlan extends ComparedPlan {
  readonly tasks: readonly AskTask[]
  readonly phases: readonly Phase[]
}

/** The cellar as it stands, and how to see it otherwise. */
export interface AskGround {
  readonly facts: Facts
  readonly plan: AskPlan
  readonly nowAt: Temporal.Instant
  /** The plan of other facts, with least disturbance; `alone`: of these facts by themselves, as if nobody knew a plan. */
  readonly planOf: (facts: Facts, how?: 'alone') => Promise<AskPlan>
  /** What holds each task of the plan as it stands; asked for only where it is needed. */
  readonly causes?: () => Promise<ReadonlyMap<string, TaskCauses>>
  /** The limits behind a hard rule that is broken: of a task, else the first; absent where none is. */
  readonly conflict?: (taskKey?: string) => Promise<ConflictTold | undefined>
}

export const isOpen = (t: Pick<AskTask, 'state'>): boolean =>
  t.state === 'planned' || t.state === 'due' || t.state === 'blocked' || t.state === 'underway'

/** Work that each load of a pick has for itself. */
const BY_LOAD = new Set(['receive', 'destem-crush', 'load-press', 'press'])

/** ` (load 2)` where the fruit of a lot comes in several: each is another piece of work. */
export function loadWords(key: string, has: (key: string) => boolean): string {
  const [lot, step = '', load] = key.split('/')
  return BY_LOAD.has(step) && (load !== '1' || has(`${lot}/${step}/2`)) ? ` (load ${load})` : ''
}

export const saying = (g: AskGround) => {
  const { zone } = g.facts.cellar
  const codes = new Map([
    ...g.facts.people.map((p) => [p.id, p.name] as const),
    ...g.facts.vessels.map((v) => [v.id, v.code] as const),
    ...g.facts.machines.map((m) => [m.id, m.code] as const),
  ])
  const nameOf = (id: string) => codes.get(id) ?? id
  const keys = new Set(g.plan.tasks.map((t) => t.key))
  const names = (ids: readonly string[]) => (ids.length > 0 ? ids.map(nameOf).join(' and ') : 'nobody')
  const dayAt = (moment: Temporal.Instant) => dayWords(dayOf(moment, zone).toString())
  return {
    zone,
    nameOf,
    names,
    at: (moment: Temporal.Instant) => momentWords(moment, zone),
    /** Where a task begins and ends: its minute, or only its day where that alone is planned. */
    start: (t: Pick<AskTask, 'startAt' | 'grain'>) =>
      t.grain === 'day' ? dayAt(t.startAt) : momentWords(t.startAt, zone),
    end: (t: Pick<AskTask, 'endAt' | 'grain'>) => (t.grain === 'day' ? dayAt(t.endAt) : momentWords(t.endAt, zone)),
    /** Who does it; of work that is planned to the day nobody is named yet. */
    crew: (t: Pick<AskTask, 'people' | 'grain'>) =>
      t.grain === 'day' ? 'hands named nearer to the day' : names(t.people),
    day: (on: Temporal.PlainDate | string) => dayWords(on.toString()),
    task: (t: Pick<AskTask, 'key' | 'lotCode' | 'name'>) =>
      `${t.lotCode === 'house' ? '' : `${t.lotCode} `}${t.name.toLowerCase()}${loadWords(t.key, (key) => keys.has(key))}`,
    dayOf: (moment: Temporal.Instant) => dayOf(moment, zone).toString(),
  }
}

export const number = (value: number, places = 0): string =>
  value.toLocaleString('en-GB', { maximumFractionDigits: places, minimumFractionDigits: 0 })

/** `5 min`, `3.5 h`, `12 days`. */
export function length(min: number): string {
  const whole = Math.max(0, Math.round(min))
  if (whole < 60) return `${whole} min`
  if (whole < 48 * 60) return `${number(whole / 60, 1)} h`
  return `${number(whole / 1440, 1)} days`
}

export const byStart = (a: Pick<AskTask, 'startAt' | 'key'>, b: Pick<AskTask, 'startAt' | 'key'>): number =>
  minutesFrom(b.startAt, a.startAt) || (a.key < b.key ? -1 : 1)

export const count = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`
