/** The rows as a treegrid tells them: numbers that stay true while only the visible ones are in the document. */

import { isByDay } from '../when.ts'
import { eachTouching } from './interval.ts'
import { BY_DAY, CONFLICT, LATE, type Model, msOfWire, neighboursOf, PHASE_WORDS } from './model.ts'
import type { Row } from './rows.ts'
import { lengthWords, STATE_WORDS, type Words } from './words.ts'

export interface Outline {
  /** `aria-rowindex` of each row; the header is 1. */
  readonly rowIndex: Int32Array
  /** All rows, tasks of opened rows and the header. */
  readonly rowCount: number
}

export function layOutline(rows: readonly Row[], opened: ReadonlySet<string>): Outline {
  const rowIndex = new Int32Array(rows.length)
  let at = 2
  rows.forEach((row, i) => {
    rowIndex[i] = at
    at += 1 + (opened.has(row.id) ? row.tasks.ix.length : 0)
  })
  return { rowIndex, rowCount: at - 1 }
}

/** One sentence for a row: where the wine is, what comes next, what is wrong. */
export function rowWords(model: Model, row: Row, words: Words, nowMs: number): string {
  const phase = [...row.bands.ix].map((ix) => model.phases[ix]).find((p) => p && p.startMs <= nowMs && nowMs < p.endMs)
  let late = 0
  let next: number | undefined
  for (const ix of row.tasks.ix) {
    if (model.state[ix] === 3) continue
    if ((model.flags[ix] as number) & LATE) late += 1
    if ((model.startMs[ix] as number) >= nowMs) next ??= ix
  }
  return [
    phase ? `${PHASE_WORDS[phase.kind]} in ${phase.vessels.join(', ') || 'the press'}` : '',
    next === undefined ? '' : `next: ${model.plan.tasks[next]?.name}, ${startIn(model, next, words)}`,
    late > 0 ? `${late} late` : '',
    `${row.tasks.ix.length} tasks`,
  ]
    .filter(Boolean)
    .join('; ')
}

/** Its minute, or only its day. */
export function startIn(model: Model, ix: number, words: Words): string {
  const startMs = model.startMs[ix] as number
  return (model.flags[ix] as number) & BY_DAY ? words.dayShort(startMs) : words.moment(startMs)
}

/** Kind, lot, vessel, start, length, state, and what it waits for. */
export function taskCells(model: Model, ix: number, words: Words): readonly string[] {
  const task = model.plan.tasks[ix]
  // The plan has just changed and the frame is still the old one's: the next frame has the words.
  if (!task) return COLUMNS.map(() => '')
  const startMs = model.startMs[ix] as number
  const endMs = model.endMs[ix] as number
  const waits = [...neighboursOf(model.prev, ix)]
    .filter((p) => model.state[p] !== 3)
    .map((p) => model.plan.tasks[p]?.name)
  const state = [
    STATE_WORDS[task.state],
    (model.flags[ix] as number) & LATE && model.state[ix] !== 3 ? 'late' : '',
    (model.flags[ix] as number) & CONFLICT ? 'breaks a rule' : '',
    task.pinned ? 'pinned' : '',
    waits.length > 0 && model.state[ix] !== 3 ? `waits for ${waits.slice(0, 2).join(' and ')}` : '',
  ]
  const people = task.people.map((id) => model.plan.people.find((p) => p.id === id)?.name ?? id)
  return [
    `${task.name}${task.lotId === null ? '' : `, ${task.lotCode}`}`,
    [...task.fromVessels, ...task.toVessels].join(' to ') || 'no vessel',
    isByDay(task) ? words.day(startMs) : words.momentLong(startMs),
    isByDay(task) ? words.day(endMs) : `${words.moment(endMs)}, ${lengthWords(endMs - startMs)}`,
    state.filter(Boolean).join(', '),
    isByDay(task) ? words.day(msOfWire(task.latestAt)) : words.moment(msOfWire(task.latestAt)),
    people.join(', ') || (isByDay(task) ? 'not yet dealt out' : 'nobody yet'),
  ]
}

export const COLUMNS = ['Task', 'Vessel', 'Start', 'End', 'State', 'Latest start', 'Crew'] as const

/** Tasks of a row that touch the window, as places in the row's own order. */
export function tasksInWindow(row: Row, model: Model, fromMs: number, toMs: number): readonly number[] {
  const places: number[] = []
  eachTouching(
    row.tasks,
    (ix) => model.endMs[ix] as number,
    fromMs,
    toMs,
    (_, place) => places.push(place),
  )
  return places
}

/** The next or previous task in time within a row; from the row itself, the first at or after now. */
export function stepTask(
  row: Row,
  model: Model,
  fromIx: number | undefined,
  by: 1 | -1,
  nowMs: number,
): number | undefined {
  const list = row.tasks.ix
  if (list.length === 0) return undefined
  if (fromIx === undefined) {
    const first = list.findIndex((ix) => (model.startMs[ix] as number) >= nowMs)
    return by === 1
      ? list[first < 0 ? list.length - 1 : first]
      : list[first < 0 ? list.length - 1 : Math.max(0, first - 1)]
  }
  return list[list.indexOf(fromIx) + by]
}
