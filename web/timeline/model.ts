/** The plan as the chart reads it: one parse of the wire, then typed arrays. */
import type { Family, PhaseKind } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'
import { shapeOfVessel, type VesselShape } from './shape.ts'
import { turnsAt } from './texture.ts'
import type { BrokenWire, ConflictWire, MachineWire, PersonWire, PhaseWire, TaskWire, VesselWire } from './wire.ts'

export interface SeasonPlan {
  readonly tasks: readonly TaskWire[]
  readonly phases: readonly PhaseWire[]
  readonly people: readonly PersonWire[]
  readonly vessels: readonly VesselWire[]
  readonly machines: readonly MachineWire[]
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
  /** When each further unit was turned over: sugar fallen or acid turned. */
  readonly turns: Float64Array
}

export interface Model {
  readonly plan: SeasonPlan
  readonly startMs: Float64Array
  readonly endMs: Float64Array
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

/** Wire moments are ISO 8601 in UTC with Z, which the language's own parser reads exactly and fast. */
export const msOfWire = (moment: string): number => Date.parse(moment)

export const wireOfMs = (ms: number): string => Temporal.Instant.fromEpochMilliseconds(Math.round(ms)).toString()

export function buildModel(plan: SeasonPlan): Model {
  const count = plan.tasks.length
  const startMs = new Float64Array(count)
  const endMs = new Float64Array(count)
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
    family[i] = FAMILY_ORDER.indexOf(task.family)
    state[i] = PEG_STATES.indexOf(pegState(task))
    flags[i] = (task.late ? LATE : 0) | (inConflict(task, accused) ? CONFLICT : 0) | (task.pinned ? PINNED : 0)
    ixOf.set(task.key, i)
    if (from < firstMs) firstMs = from
    if (to > lastMs) lastMs = to
  }
  const phases = plan.phases.map(phaseItem)
  for (const phase of phases) {
    firstMs = Math.min(firstMs, phase.startMs)
    lastMs = Math.max(lastMs, phase.endMs)
  }
  return {
    plan,
    startMs,
    endMs,
    family,
    state,
    flags,
    ixOf,
    next: neighbours(plan.tasks, ixOf, 'next'),
    prev: neighbours(plan.tasks, ixOf, 'prev'),
    phases,
    firstMs,
    lastMs,
  }
}

function pegState(task: TaskWire): PegState {
  if (task.state === 'skipped' || task.state === 'cancelled') return 'done'
  return task.state
}

const isOver = (task: TaskWire): boolean =>
  task.state === 'done' || task.state === 'skipped' || task.state === 'cancelled'

const inConflict = (task: TaskWire, accused: ReadonlySet<string>): boolean =>
  !isOver(task) && (accused.has(task.key) || task.broken.some((b) => b.strength === 'hard'))

function phaseItem(phase: PhaseWire, ix: number): PhaseItem {
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
    turns: unit ? turnsAt(startMs, endMs, phase.ratePerDay, unit) : new Float64Array(0),
  }
}

function neighbours(tasks: readonly TaskWire[], ixOf: ReadonlyMap<string, number>, side: 'next' | 'prev'): Neighbours {
  const from = new Int32Array(tasks.length + 1)
  const at: number[] = []
  for (let i = 0; i < tasks.length; i++) {
    from[i] = at.length
    for (const key of (tasks[i] as TaskWire)[side]) {
      const ix = ixOf.get(key)
      if (ix !== undefined) at.push(ix)
    }
  }
  from[tasks.length] = at.length
  return { from, at: Int32Array.from(at) }
}

export const neighboursOf = (side: Neighbours, ix: number): Int32Array =>
  side.at.subarray(side.from[ix] as number, side.from[ix + 1] as number)
