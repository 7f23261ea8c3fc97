/** Between which moments a task may start: what it waits for and what waits for it, as they stand now. */
import { type Model, msOfWire, neighboursOf } from './model.ts'
import { type MoveRules, nameOf } from './rules.ts'
import type { TaskWire } from './wire.ts'
import { lengthWords } from './words.ts'

export interface Bound {
  readonly ms: number
  readonly why: string
}

export interface MoveWindow {
  readonly earliest: Bound
  readonly latest: Bound
}

type Wait = NonNullable<TaskWire['waits']>[number]

const MIN_MS = 60_000

/** @param andFollows what follows moves along, so it sets no limit */
export function moveWindow(rules: MoveRules, ix: number, andFollows: boolean): MoveWindow {
  const { model } = rules
  const task = model.plan.tasks[ix] as TaskWire
  let earliest: Bound = { ms: msOfWire(task.earliestAt), why: 'its links allow no earlier start' }
  let latest: Bound = { ms: msOfWire(task.latestAt), why: task.whyNotLater || 'its links allow no later start' }
  const narrow = ({ from, until }: Bounds) => {
    // Of two equal bounds the named link tells more.
    if (from && from.ms >= earliest.ms) earliest = from
    if (until && until.ms < latest.ms) latest = until
  }
  for (const wait of waitsOf(model, ix)) if (!wait.soft) narrow(afterPrev(rules, wait))
  if (rules.nowMs > earliest.ms) earliest = { ms: rules.nowMs, why: 'that is past' }
  if (!andFollows)
    for (const next of new Set(neighboursOf(model.next, ix)))
      for (const wait of waitsOf(model, next))
        if (wait.key === task.key && !wait.soft) narrow(beforeNext(rules, ix, next, wait))
  return { earliest, latest: latest.ms < earliest.ms ? { ...latest, ms: earliest.ms } : latest }
}

interface Bounds {
  readonly from?: Bound
  readonly until?: Bound
}

/** Where the task before stands, with the link's least and longest lag after it. */
export function afterPrev(rules: MoveRules, { key, from, minMin, maxMin }: Wait): Bounds {
  const { model, words } = rules
  const prev = model.ixOf.get(key)
  if (prev === undefined) return {}
  const ms = (from === 'end' ? model.endMs[prev] : model.startMs[prev]) as number
  const edge = `${nameOf(model, prev)} ${from === 'end' ? 'ends' : 'starts'} ${words.moment(ms)}`
  return {
    from: { ms: ms + minMin * MIN_MS, why: minMin > 0 ? `${edge} and must be ${lag(minMin)} past` : edge },
    ...(maxMin !== undefined && {
      until: {
        ms: ms + maxMin * MIN_MS,
        why: maxMin === 0 ? `${edge}, and this goes with it` : `${edge}, and at most ${lag(maxMin)} may pass`,
      },
    }),
  }
}

/** Where the task after stands, with the same link seen from this side. */
function beforeNext({ model, words }: MoveRules, ix: number, next: number, { from, minMin, maxMin }: Wait): Bounds {
  const lengthMs = from === 'end' ? (model.endMs[ix] as number) - (model.startMs[ix] as number) : 0
  const nextMs = model.startMs[next] as number
  const follows = `${nameOf(model, next)} follows ${words.moment(nextMs)}`
  return {
    until: {
      ms: nextMs - minMin * MIN_MS - lengthMs,
      why: minMin > 0 ? `${follows} and asks for ${lag(minMin)} before it` : follows,
    },
    ...(maxMin !== undefined && {
      from: { ms: nextMs - maxMin * MIN_MS - lengthMs, why: `${follows} and may wait ${lag(maxMin)} at most` },
    }),
  }
}

const lag = (min: number): string => lengthWords(min * MIN_MS)

/** Plans stored before links told their lags: who starts after the other's end waits for it, who streams along waits for its start. */
export function waitsOf(model: Model, ix: number): readonly Wait[] {
  const told = model.plan.tasks[ix]?.waits
  if (told) return told
  return Array.from(neighboursOf(model.prev, ix), (prev) => ({
    key: model.plan.tasks[prev]?.key ?? '',
    from: (model.startMs[ix] as number) >= (model.endMs[prev] as number) ? 'end' : 'start',
    minMin: 0,
  }))
}
