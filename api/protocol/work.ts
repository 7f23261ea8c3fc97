import type { Bias, Hold, Link, Task, Use } from '../schedule/types.ts'
import { HOUR, type Setting, sizesOf } from './setting.ts'
import { stepOf } from './steps.ts'
import type { Dose, Step, StepSizes } from './types.ts'
import { weightOf } from './weights.ts'

/** One piece of work: what the planner places, and what the wine side says about it. */
export interface Work {
  readonly task: Task
  readonly step: string
  readonly count: number
  readonly name: string
  readonly detail: string
  /** Keys of holds the wine leaves and enters. */
  readonly from: readonly string[]
  readonly to: readonly string[]
  /** Vessel ids, where a report names them instead of a hold. */
  readonly at?: readonly string[]
  readonly doses: readonly Dose[]
  readonly volumeL: number
  /** The date hangs on a reading still to come. */
  readonly forecast: boolean
  /** Done by the crew of this task, as one stream. */
  readonly crewOf?: string
  /** Of such a stream: how long it takes them; what runs by itself after that takes nobody. */
  readonly streamMin?: number
}

/** A piece of a network. Pieces are joined; none is changed. */
export interface Part {
  readonly works: readonly Work[]
  readonly links: readonly Link[]
  readonly holds: readonly Hold[]
}

export const NOTHING: Part = { works: [], links: [], holds: [] }

export const joined = (...parts: readonly (Part | undefined)[]): Part => ({
  works: parts.flatMap((p) => p?.works ?? []),
  links: parts.flatMap((p) => p?.links ?? []),
  holds: parts.flatMap((p) => p?.holds ?? []),
})

/** What a task waits for. */
export interface Wait {
  readonly key: string
  readonly from?: 'start' | 'end'
  readonly minMin?: number
  readonly maxMin?: number
  readonly strength?: 'hard' | 'soft'
  readonly reason?: string
}

export interface WorkOptions {
  readonly count?: number
  readonly after?: readonly (Wait | undefined)[]
  readonly sizes?: Partial<StepSizes>
  readonly elapsedMin?: number
  readonly crewMin?: number
  readonly crew?: number
  readonly detail?: string
  readonly name?: string
  readonly from?: readonly string[]
  readonly to?: readonly string[]
  readonly at?: readonly string[]
  readonly doses?: readonly (Dose | undefined)[]
  readonly volumeL?: number
  readonly forecast?: boolean
  readonly spread?: Task['spread']
  readonly bias?: Bias
  readonly releaseMin?: number
  readonly dueMin?: number
  readonly dueStrength?: 'hard' | 'soft'
  readonly weight?: number
  /** Calendar of starts; `null`: any time of a shift. */
  readonly starts?: string | null
  readonly crewOf?: string
  /** Instead of the step's own. */
  readonly skills?: readonly string[]
  /** Machine kinds that another task or a hold already keeps. */
  readonly without?: readonly string[]
}

export const keyOf = (s: Setting, step: string, count = 1): string => `${s.lot.code}/${step}/${count}`

/** A task of the lot and the links that lead to it. */
export function work(s: Setting, stepId: string, o: WorkOptions = {}): Part {
  const step = stepOf(stepId)
  const key = keyOf(s, stepId, o.count)
  const sizes = sizesOf(s, { ...(o.volumeL === undefined ? {} : { volumeL: o.volumeL }), ...o.sizes })
  const task = taskOf(s, step, key, sizes, o)
  return {
    works: [
      {
        task,
        step: stepId,
        count: o.count ?? 1,
        name: o.name ?? step.names.en,
        detail: o.detail ?? '',
        from: o.from ?? [],
        to: o.to ?? [],
        ...(o.at ? { at: o.at } : {}),
        doses: (o.doses ?? []).flatMap((d) => d ?? []),
        volumeL: o.volumeL ?? 0,
        forecast: o.forecast ?? false,
        crewOf: o.crewOf,
        ...(o.crewOf === undefined ? {} : { streamMin: fives((step.labourH(sizes) * HOUR) / Math.max(1, step.crew)) }),
      },
    ],
    links: (o.after ?? []).flatMap((wait) => (wait ? linksTo(key, wait) : [])),
    holds: [],
  }
}

/** The order is always kept; how long the next may wait is as strict as the wait says. */
export function linksTo(next: string, wait: Wait): readonly Link[] {
  const minLagMin = Math.round(wait.minMin ?? 0)
  const order: Link = {
    prev: wait.key,
    next,
    from: wait.from ?? 'end',
    minLagMin,
    strength: 'hard',
    ...(wait.reason ? { reason: wait.reason } : {}),
  }
  if (wait.maxMin === undefined) return [order]
  const maxLagMin = Math.round(wait.maxMin)
  if (wait.strength !== 'soft') return [{ ...order, maxLagMin }]
  return [order, { ...order, maxLagMin, strength: 'soft' }]
}

function taskOf(s: Setting, step: Step, key: string, sizes: StepSizes, o: WorkOptions): Task {
  const streams = o.crewOf !== undefined
  const whole = !streams && isWhole(step)
  const crew = streams ? 0 : whole ? step.crew : Math.min(o.crew ?? step.crew, s.crewSize)
  const crewMin = crew === 0 ? 0 : (o.crewMin ?? fives((step.labourH(sizes) * HOUR) / crew))
  const elapsedMin = o.elapsedMin ?? fives(step.elapsedH(sizes) * HOUR)
  return {
    key,
    group: s.lot.code,
    elapsedMin,
    crewMin,
    crew,
    ...(whole ? { whole } : {}),
    skills: streams ? [] : (o.skills ?? gatesOf(step)),
    uses: usesOf(s, step, sizes, o.without ?? []),
    ...(o.starts === null ? {} : startsOf(step, o.starts)),
    // Short work is finished before people go; what runs by itself does not pause with them.
    interruptible: step.interruptible && crewMin > PAUSED_FROM_MIN,
    bias: o.bias ?? 'early',
    ...(o.releaseMin === undefined ? {} : { releaseMin: Math.round(o.releaseMin) }),
    ...(o.dueMin === undefined ? {} : { dueMin: Math.round(o.dueMin), dueStrength: o.dueStrength ?? 'soft' }),
    weight: o.weight ?? weightOf(step.id),
    ...(o.spread ? { spread: o.spread } : {}),
  }
}

/** Work longer than this may be left for the next shift. */
const PAUSED_FROM_MIN = 4 * HOUR

/** Skills that a person must have; the others only say who goes first (practice: licences, chemicals and decisions gate). */
export const gatesOf = (step: Step): readonly string[] =>
  step.skills.filter((skill) => skill !== 'press' && !(skill === 'forklift' && step.id === 'empty-press'))

/** Nobody goes into a tank without an attendant outside: source S60, the step's caution. */
const isWhole = (step: Step): boolean => step.crew > 1 && step.skills.includes('confined-space')

/** Work is planned in steps of five minutes. */
export const fives = (min: number): number => Math.max(5, Math.ceil(min / 5 - 1e-6) * 5)

/** A start calendar is named by what it allows, so that equal ones are laid out once. */
export const startsId = (
  windows: readonly (readonly [number, number])[] | undefined,
  weekdays: readonly number[] | undefined,
  onHolidays: boolean,
): string =>
  `starts ${(windows ?? [[0, 1440]]).map(([a, b]) => `${a}-${b}`).join(',')} ${(weekdays ?? []).join('')} ${onHolidays ? 'all days' : 'working days'}`

function startsOf(step: Step, own: string | undefined): { readonly startCalendar?: string } {
  if (own) return { startCalendar: own }
  if (!step.startWindows && step.onHolidays) return {}
  return { startCalendar: startsId(step.startWindows, undefined, step.onHolidays) }
}

/** What a cellar does not own it does without or hires; only what is there can be taken. */
function usesOf(s: Setting, step: Step, sizes: StepSizes, without: readonly string[]): readonly Use[] {
  return step.machines.flatMap(({ kind, amount }) => {
    const units = s.machines.filter((m) => m.kind === kind)
    if (units.length === 0 || without.includes(kind)) return []
    // A sample that stands for a day leaves the bench free.
    if (kind === 'lab' && step.elapsedH(sizes) > BENCH_MOST_H) return []
    const wanted = amount(sizes)
    const most = Math.max(...units.map((m) => (SHARED.has(kind) ? m.capacity : 1)))
    return wanted > 0 ? [{ pool: kind, amount: Math.min(wanted, most) }] : []
  })
}

const BENCH_MOST_H = 8

/** Machines whose capacity is an amount to share: kW, tonnes. Of all others one task has the whole. */
export const SHARED: ReadonlySet<string> = new Set(['chiller', 'warm-water', 'cold-room', 'bins', 'hot-water', 'lab'])
