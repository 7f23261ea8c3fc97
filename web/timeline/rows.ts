/** Rows by lot, vessel, person or machine: grouped, filtered, sorted, folded. One flat list comes out, in the order drawn. */

import type { Family } from '../../api/protocol/types.ts'
import { figureWritten } from '../written.ts'
import { type Intervals, indexIntervals } from './interval.ts'
import { assignLanes } from './lanes.ts'
import { CONFLICT, FAMILY_ORDER, LATE, type Model, msOfWire, PEG_STATES, PHASE_WORDS } from './model.ts'
import { groupRows, mergeBarrels, sortRows } from './rows-order.ts'
import type { TaskWire } from './wire.ts'

export type RowsBy = 'lot' | 'vessel' | 'person' | 'machine'
export type SortBy = 'name' | 'next' | 'late'
export type StateFilter = 'planned' | 'due' | 'underway' | 'done' | 'blocked' | 'late' | 'conflict'

export interface Arrangement {
  readonly by: RowsBy
  readonly grouped: boolean
  readonly sort: SortBy
  /** Empty: all. */
  readonly families: readonly Family[]
  readonly states: readonly StateFilter[]
  readonly search: string
  /** Ids of rows that are folded. */
  readonly folded: readonly string[]
  /** Only this lot, person, vessel or machine. */
  readonly only?: string
}

export const ARRANGED: Arrangement = {
  by: 'lot',
  grouped: false,
  sort: 'name',
  families: [],
  states: [],
  search: '',
  folded: [],
}

export interface Span {
  readonly fromMs: number
  readonly toMs: number
  readonly why: string
}

export interface Row {
  readonly id: string
  readonly kind: 'group' | 'house' | RowsBy
  readonly label: string
  readonly note: string
  readonly group: string
  readonly folded: boolean
  readonly bands: Intervals
  readonly tasks: Intervals
  /** Lane of each task of `tasks`, from time alone: zooming never moves one. */
  readonly lanes: Uint8Array
  readonly laneCount: number
  /** Bookings and absences. */
  readonly shut: readonly Span[]
}

/** A row before it is laid out. */
export interface Draft {
  readonly id: string
  readonly kind: Row['kind']
  readonly label: string
  readonly note: string
  readonly group: string
  readonly shut: readonly Span[]
  readonly tasks: number[]
  readonly bands: number[]
}

export function arrangeRows(model: Model, wanted: Arrangement, nowMs: number): readonly Row[] {
  const passes = taskFilter(model, wanted)
  const drafts = draftRows(model, wanted.by, nowMs)
  const filtering = wanted.families.length > 0 || wanted.states.length > 0 || wanted.search.trim() !== ''
  const words = wanted.search.trim().toLowerCase()
  const shown = drafts
    .filter((d) => wanted.only === undefined || d.id === wanted.only)
    .map((d) => {
      const named = words !== '' && `${d.label} ${d.note}`.toLowerCase().includes(words)
      const tasks = filtering ? d.tasks.filter((ix) => passes(ix, named)) : d.tasks
      return { ...d, tasks, keep: !filtering || tasks.length > 0 || named }
    })
    .filter((d) => d.keep)
  const ordered = sortRows(shown, model, wanted.sort, nowMs)
  const rows = ordered.map((d) => finishRow(d, model, wanted.folded))
  return wanted.grouped ? groupRows(rows, wanted.folded) : rows
}

function taskFilter(model: Model, wanted: Arrangement): (ix: number, rowNamed: boolean) => boolean {
  const families = new Set(wanted.families.map((f) => FAMILY_ORDER.indexOf(f)))
  const words = wanted.search.trim().toLowerCase()
  return (ix, rowNamed) => {
    if (families.size > 0 && !families.has(model.family[ix] as number)) return false
    if (wanted.states.length > 0 && !wanted.states.some((s) => isInState(model, ix, s))) return false
    return words === '' || rowNamed || taskText(model.plan.tasks[ix] as TaskWire).includes(words)
  }
}

function isInState(model: Model, ix: number, state: StateFilter): boolean {
  const flags = model.flags[ix] as number
  if (state === 'late') return (flags & LATE) !== 0
  if (state === 'conflict') return (flags & CONFLICT) !== 0
  return PEG_STATES[model.state[ix] as number] === state
}

const taskText = (task: TaskWire): string =>
  [task.name, task.lotCode, task.lotName, task.step, ...task.fromVessels, ...task.toVessels, ...task.machines]
    .join(' ')
    .toLowerCase()

function draftRows(model: Model, by: RowsBy, nowMs: number): readonly Draft[] {
  const drafts = new Map<string, Draft>()
  const draft = (
    id: string,
    kind: Row['kind'],
    label: string,
    note = '',
    group = '',
    shut: readonly Span[] = [],
  ): Draft => {
    const known = drafts.get(id)
    if (known) return known
    const made: Draft = { id, kind, label, note, group, shut, tasks: [], bands: [] }
    drafts.set(id, made)
    return made
  }
  const { plan } = model
  if (by === 'vessel')
    for (const v of plan.vessels)
      draft(
        v.code,
        'vessel',
        v.code,
        `${litres(v.volumeL)} ${vesselWords(v.kind)}`,
        vesselWords(v.kind),
        v.bookings.map(spanOf),
      )
  if (by === 'person')
    for (const p of plan.people)
      draft(
        p.id,
        'person',
        p.name,
        p.post,
        p.post,
        p.absences.map((a) => ({ fromMs: msOfWire(a.fromAt), toMs: msOfWire(a.toAt), why: a.reason })),
      )
  if (by === 'machine')
    for (const m of plan.machines)
      draft(m.code, 'machine', m.code, m.name, m.kind.replaceAll('-', ' '), m.bookings.map(spanOf))
  // Hands are named nearer to the day: until then the work has a row of its own.
  if (by === 'person' && plan.tasks.some(isUndealt))
    draft(UNDEALT, 'house', 'Not yet dealt out', 'named nearer to the day')
  for (const phase of model.phases) {
    if (by === 'lot') draft(phase.lotCode, 'lot', phase.lotCode).bands.push(phase.ix)
    if (by === 'vessel') for (const code of phase.vessels) drafts.get(code)?.bands.push(phase.ix)
  }
  plan.tasks.forEach((task, ix) => {
    if (task.state === 'cancelled') return
    for (const id of rowsOfTask(task, by)) {
      const known = drafts.get(id)
      if (known) known.tasks.push(ix)
      else if (by === 'lot')
        draft(id, task.lotId === null ? 'house' : 'lot', task.lotId === null ? 'House' : id).tasks.push(ix)
    }
  })
  const named = by === 'lot' ? [...drafts.values()].map((d) => nameLot(d, model, nowMs)) : [...drafts.values()]
  if (by === 'vessel') return mergeBarrels(named, model)
  return by === 'machine' ? named.filter((d) => d.tasks.length > 0 || d.shut.length > 0) : named
}

function rowsOfTask(task: TaskWire, by: RowsBy): readonly string[] {
  if (by === 'lot') return [task.lotId === null ? 'house' : task.lotCode]
  if (by === 'person') return isUndealt(task) ? [UNDEALT] : task.people
  if (by === 'machine') return task.machines
  return task.fromVessels.length + task.toVessels.length === 0
    ? []
    : [...new Set([...task.fromVessels, ...task.toVessels])]
}

function nameLot(draft: Draft, model: Model, nowMs: number): Draft {
  if (draft.kind === 'house') return { ...draft, note: 'cleaning, safety, stores', group: 'house' }
  const first = draft.tasks[0]
  const name = first === undefined ? '' : (model.plan.tasks[first] as TaskWire).lotName
  const phases = draft.bands.map((ix) => model.phases[ix]).filter((p) => p !== undefined)
  const now = phases.find((p) => p.startMs <= nowMs && nowMs < p.endMs)
  const ahead = phases.length > 0 && phases.every((p) => p.startMs > nowMs)
  return { ...draft, note: name, group: now ? PHASE_WORDS[now.kind] : ahead ? 'to come' : 'between phases' }
}

/** The row of work that only its day is planned of. */
const UNDEALT = 'not yet dealt out'

const isUndealt = (task: TaskWire): boolean =>
  task.grain === 'day' && task.crew > 0 && task.crewMin > 0 && task.people.length === 0

const spanOf = (b: { readonly fromAt: string; readonly toAt: string; readonly why: string }): Span => ({
  fromMs: msOfWire(b.fromAt),
  toMs: msOfWire(b.toAt),
  why: b.why,
})

const litres = (volumeL: number): string => `${figureWritten('en-GB', volumeL, 3) ?? volumeL.toLocaleString('en')} L`
const vesselWords = (kind: string): string => kind.replaceAll('-', ' ')

function finishRow(draft: Draft, model: Model, folded: readonly string[]): Row {
  const tasks = indexIntervals(
    draft.tasks,
    (ix) => model.drawnFromMs[ix] as number,
    (ix) => model.drawnToMs[ix] as number,
  )
  // Lanes are for day zoom: not every season needs them.
  let laid: ReturnType<typeof assignLanes> | undefined
  const lay = () => {
    laid ??= assignLanes(tasks.ix, model.drawnFromMs, model.drawnToMs)
    return laid
  }
  return {
    id: draft.id,
    kind: draft.kind,
    label: draft.label,
    note: draft.note,
    group: draft.group,
    folded: folded.includes(draft.id),
    bands: indexIntervals(
      draft.bands,
      (ix) => model.phases[ix]?.startMs ?? 0,
      (ix) => model.phases[ix]?.endMs ?? 0,
    ),
    tasks,
    get lanes() {
      return lay().lanes
    },
    get laneCount() {
      return lay().laneCount
    },
    shut: draft.shut,
  }
}
