/** The plan as the chart reads it: one parse of the wire, then typed arrays. */
import type { Family, PhaseKind } from '../../api/protocol/types.ts'
import { addDays, dayOf, msOf, startOfDay } from '../wall-clock.ts'
import { shapeOfVessel, type VesselShape } from './shape.ts'
import { turnsAt } from './texture.ts'
import type { BrokenWire, ConflictWire, MachineWire, PersonWire, PhaseWire, TaskWire, VesselWire } from './wire.ts'

export interface SeasonPlan {
  readonly tasks: readonly TaskWire[]
  readonly phases: readonly PhaseWire[]
  readonly people: readonly PersonWire[]
  readonly vessels: readonly VesselWire[]
  readonly machines: readonly MachineWire[]
  /** Minutes from each site to each other, the cellar itself first. Absent: one site. */
  readonly travel?: { readonly sites: readonly string[]; readonly minutes: readonly (readonly number[])[] }
  readonly conflicts: readonly ConflictWire[]
  readonly broken: readonly BrokenWire[]
  readonly revision: number
}

export const PEG_STATES = ['planned', 'due', 'underway', 'done', 'blocked'] as const
export type PegState = (typeof PEG_STATES)[number]
export const FAMILY_ORDER: readonly Family[] = ['juice', 'ferment', 'check', 'move', 'lees', 'protect']

export const LATE = 1
export const CONFLICT = 2
export const PINNED = 4
/** Planned to the day: its peg stands in the middle of it. */
export const BY_DAY = 8

/** Neighbours of every task in two flat arrays: those of task i are at[from[i]..from[i + 1]). */
export interface Neighbours {
  readonly from: Int32Array
  readonly at: Int32Array
}

export interface PhaseItem {
  readonly ix: number
  readonly key: string
  readonly lotCode: string
  readonly kind: PhaseKind
  readonly hue: Family
  readonly shape: VesselShape
  readonly startMs: number
  readonly endMs: number
  readonly earliestEndMs?: number
  readonly latestEndMs?: number
  readonly vessels: readonly string[]
  readonly volumeL: number
  readonly tempC: number
  /** Share of the lot that lies as lees, 0 to 1, where it was measured. */
  readonly leesShare?: number
  /** When each further unit was turned over: sugar fallen or acid turned. */
  readonly turns: Float64Array
}

export interface Model {
  readonly plan: SeasonPlan
  readonly startMs: Float64Array
  readonly endMs: Float64Array
  /** From where to where it is drawn: work that is planned to the day has the whole of it. */
  readonly drawnFromMs: Float64Array
  readonly drawnToMs: Float64Array
  readonly family: Uint8Array
  readonly state: Uint8Array
  readonly flags: Uint8Array
  readonly ixOf: ReadonlyMap<string, number>
  readonly next: Neighbours
  readonly prev: Neighbours
  readonly phases: readonly PhaseItem[]
  readonly firstMs: number
  readonly lastMs: number
}

const HUES: Readonly<Record<PhaseKind, Family>> = {
  fruit: 'juice',
  settle: 'juice',
  macerate: 'juice',
  ferment: 'ferment',
  malolactic: 'ferment',
  lees: 'lees',
  cold: 'protect',
  store: 'protect',
}

export const PHASE_WORDS: Readonly<Record<PhaseKind, string>> = {
  fruit: 'fruit',
  settle: 'settling',
  macerate: 'on skins',
  ferment: 'fermenting',
  malolactic: 'malolactic',
  lees: 'on lees',
  cold: 'cold',
  store: 'resting',
}

/** What one dot stands for: 1 g/L of sugar; one ring 0.1 g/L of malic acid. */
const UNITS: Readonly<Partial<Record<PhaseKind, number>>> = { ferment: 1, malolactic: 0.1 }

/** Wire moments are ISO 8601 in UTC with Z. A hundred thousand of them come at once: read by place, five times as fast. */
export function msOfWire(moment: string): number {
  const { length } = moment
  if ((length !== 20 && length !== 24) || moment.charCodeAt(length - 1) !== 90 || moment.charCodeAt(10) !== 84)
    return Date.parse(moment)
  const two = (at: number) => moment.charCodeAt(at) * 10 + moment.charCodeAt(at + 1) - 528
  const year = two(0) * 100 + two(2)
  const part = length === 24 ? (moment.charCodeAt(20) - 48) * 100 + two(21) : 0
  return Date.UTC(year, two(5) - 1, two(8), two(11), two(14), two(17), part)
}

/** And back, without the milliseconds where there are none. */
export const wireOfMs = (ms: number): string => new Date(Math.round(ms)).toISOString().replace('.000Z', 'Z')

/** @param zone where days begin and end; absent: work by the day is drawn as if its minute were meant */
export function buildModel(plan: SeasonPlan, leesShare?: ReadonlyMap<string, number>, zone?: string): Model {
  const count = plan.tasks.length
  const startMs = new Float64Array(count)
  const endMs = new Float64Array(count)
  const daily: number[] = []
  const family = new Uint8Array(count)
  const state = new Uint8Array(count)
  const flags = new Uint8Array(count)
  const ixOf = new Map<string, number>()
  const accused = new Set(plan.broken.filter((b) => b.strength === 'hard').flatMap((b) => b.taskKeys))
  let firstMs = Number.POSITIVE_INFINITY
  let lastMs = Number.NEGATIVE_INFINITY
  for (let i = 0; i < count; i++) {
    const task = plan.tasks[i] as TaskWire
    const from = msOfWire(task.startAt)
    const to = msOfWire(task.endAt)
    startMs[i] = from
    endMs[i] = to
    family[i] = FAMILY_NUMBERS[task.family]
    state[i] = STATE_NUMBERS[task.state]
    if (task.grain === 'day') daily.push(i)
    flags[i] =
      (task.late ? LATE : 0) |
      (inConflict(task, accused) ? CONFLICT : 0) |
      (task.pinned ? PINNED : 0) |
      (task.grain === 'day' ? BY_DAY : 0)
    ixOf.set(task.key, i)
    if (from < firstMs) firstMs = from
    if (to > lastMs) lastMs = to
  }
  const prev = neighbours(plan.tasks, ixOf)
  const phases = plan.phases.map((phase, ix) => phaseItem(phase, ix, leesShare?.get(phase.lotCode)))
  for (const phase of phases) {
    firstMs = Math.min(firstMs, phase.startMs)
    lastMs = Math.max(lastMs, phase.endMs)
  }
  return {
    plan,
    startMs,
    endMs,
    ...drawnDays(startMs, endMs, zone === undefined ? [] : daily, zone ?? ''),
    family,
    state,
    flags,
    ixOf,
    next: turned(prev),
    prev,
    phases,
    firstMs,
    lastMs,
  }
}

/** The same arrays where no work is planned to the day. */
function drawnDays(
  startMs: Float64Array,
  endMs: Float64Array,
  daily: readonly number[],
  zone: string,
): Pick<Model, 'drawnFromMs' | 'drawnToMs'> {
  if (daily.length === 0) return { drawnFromMs: startMs, drawnToMs: endMs }
  const drawnFromMs = startMs.slice()
  const drawnToMs = endMs.slice()
  const known = new Map<number, string>()
  const dayAt = (ms: number) => {
    const on = known.get(ms) ?? dayOf(ms, zone)
    known.set(ms, on)
    return on
  }
  const starts = new Map<string, number>()
  const startOn = (on: string) => {
    const ms = starts.get(on) ?? msOf(startOfDay(on, zone))
    starts.set(on, ms)
    return ms
  }
  for (const i of daily) {
    const first = dayAt(startMs[i] as number)
    const last = dayAt(Math.max(startMs[i] as number, (endMs[i] as number) - 1))
    drawnFromMs[i] = startOn(first)
    drawnToMs[i] = startOn(addDays(last, 1))
  }
  return { drawnFromMs, drawnToMs }
}

const numbered = <K extends string>(names: readonly K[]): Readonly<Record<K, number>> =>
  Object.fromEntries(names.map((name, i) => [name, i])) as Record<K, number>

const FAMILY_NUMBERS = numbered(FAMILY_ORDER)
const PEG_NUMBERS = numbered(PEG_STATES)
const STATE_NUMBERS: Readonly<Record<TaskWire['state'], number>> = {
  ...PEG_NUMBERS,
  skipped: PEG_NUMBERS.done,
  cancelled: PEG_NUMBERS.done,
}

const isOver = (task: TaskWire): boolean =>
  task.state === 'done' || task.state === 'skipped' || task.state === 'cancelled'

const inConflict = (task: TaskWire, accused: ReadonlySet<string>): boolean =>
  (accused.size > 0 || task.broken.length > 0) &&
  !isOver(task) &&
  (accused.has(task.key) || task.broken.some((b) => b.strength === 'hard'))

function phaseItem(phase: PhaseWire, ix: number, leesShare: number | undefined): PhaseItem {
  const startMs = msOfWire(phase.startAt)
  const endMs = msOfWire(phase.endAt)
  const unit = UNITS[phase.kind]
  return {
    ix,
    key: phase.key,
    lotCode: phase.lotCode,
    kind: phase.kind,
    hue: HUES[phase.kind],
    shape: shapeOfVessel(phase.vessels[0]?.kind),
    startMs,
    endMs,
    ...(phase.endSpread && {
      earliestEndMs: msOfWire(phase.endSpread.earliestAt),
      latestEndMs: msOfWire(phase.endSpread.latestAt),
    }),
    vessels: phase.vessels.map((v) => v.code),
    volumeL: phase.volumeL,
    tempC: phase.tempC,
    ...(leesShare !== undefined && { leesShare }),
    turns: unit ? turnsAt(startMs, endMs, phase.ratePerDay, unit) : new Float64Array(0),
  }
}

function neighbours(tasks: readonly TaskWire[], ixOf: ReadonlyMap<string, number>): Neighbours {
  const from = new Int32Array(tasks.length + 1)
  const at: number[] = []
  for (let i = 0; i < tasks.length; i++) {
    from[i] = at.length
    for (const key of (tasks[i] as TaskWire).prev) {
      const ix = ixOf.get(key)
      if (ix !== undefined) at.push(ix)
    }
  }
  from[tasks.length] = at.length
  return { from, at: Int32Array.from(at) }
}

/** Who comes next, from who came before: the wire tells both, and finding tasks by their keys is what costs. */
function turned({ from, at }: Neighbours): Neighbours {
  const count = from.length - 1
  const starts = new Int32Array(count + 1)
  for (const ix of at) starts[ix + 1] = (starts[ix + 1] as number) + 1
  for (let i = 0; i < count; i++) starts[i + 1] = (starts[i + 1] as number) + (starts[i] as number)
  const fill = starts.slice()
  const out = new Int32Array(at.length)
  for (let task = 0; task < count; task++)
    for (let i = from[task] as number; i < (from[task + 1] as number); i++) {
      const prev = at[i] as number
      out[fill[prev] as number] = task
      fill[prev] = (fill[prev] as number) + 1
    }
  return { from: starts, at: out }
}

export const neighboursOf = (side: Neighbours, ix: number): Int32Array =>
  side.at.subarray(side.from[ix] as number, side.from[ix + 1] as number)
