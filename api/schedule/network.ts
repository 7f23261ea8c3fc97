import { edgeFrom, edgeUntil, startFrom, startUntil } from './lag.ts'
import type { Model } from './model.ts'

/** Links that take part. A switched-off bound is not planned by, but is still checked and reported. */
export interface Switches {
  readonly minOff: Uint8Array
  readonly maxOff: Uint8Array
}

/** Where starts and lengths stand while bounds travel through the links. */
export interface Labels {
  /** Lower and upper bound of each start. */
  readonly lo: Float64Array
  readonly hi: Float64Array
  /** The link that set the bound; -1 for the task's own facts. */
  readonly loBy: Int32Array
  readonly hiBy: Int32Array
  /** 1: its start is settled and no bound moves it. */
  readonly settled: Uint8Array
  /** From start to end. Of work that may pause the least, until it is settled. */
  readonly length: Float64Array
}

export const newLabels = (size: number): Labels => ({
  lo: new Float64Array(size),
  hi: new Float64Array(size).fill(Infinity),
  loBy: new Int32Array(size).fill(-1),
  hiBy: new Int32Array(size).fill(-1),
  settled: new Uint8Array(size),
  length: new Float64Array(size),
})

/** A task whose start is a fact or a person's wish; undefined when the planner may choose. */
export function factOf(model: Model, i: number): number | undefined {
  const task = model.tasks[i]!
  return task.done?.startMin ?? task.started?.startMin ?? task.pin?.startMin
}

/** From start to end as far as it is known before people are. */
export function lengthOf(model: Model, i: number): number {
  const task = model.tasks[i]!
  if (task.done) return task.done.endMin - task.done.startMin
  if (task.started) return Math.max(task.elapsedMin, model.problem.nowMin - task.started.startMin)
  return task.elapsedMin
}

/** Limits that chase each other: the tasks in turn, and the bounds that lead from one to the next. */
export interface Circle {
  readonly tasks: readonly number[]
  readonly bounds: readonly { readonly link: number; readonly max: boolean }[]
}

export interface Network {
  /** Puts every task back to its own facts. */
  readonly reset: (labels: Labels, hardOnly: boolean, members?: readonly number[]) => void
  /** Carries the bounds of `from` to all they reach; the answer names a circle when bounds chase each other. */
  readonly spreadLo: (labels: Labels, from: readonly number[]) => Circle | undefined
  readonly spreadHi: (labels: Labels, from: readonly number[]) => Circle | undefined
}

/** A last guard: no real network comes near it. */
const MOST_VISITS = 100_000

export function networkOf(model: Model, off: Switches, softOff = false): Network {
  const { links, outOf, into, working, problem } = model
  const size = model.tasks.length
  const mayPause = model.tasks.map((t) => t.interruptible && t.crew > 0 && t.crewMin > 0)
  const queue = new Int32Array(size + 1)
  const queued = new Uint8Array(size)
  const visits = new Int32Array(size)
  // Past this minute every calendar is behind, lags only add up, and a start that still climbs will never stop.
  const farMin = Math.max(problem.horizonMin, working.to.at(-1) ?? 0) * 2 + 100_000
  const minOn = links.map((l, k) => !off.minOff[k] && (l.hard || !softOff) && l.minLagMin !== -Infinity)
  const maxOn = links.map((l, k) => !off.maxOff[k] && (l.hard || !softOff) && l.maxLagMin !== Infinity)

  const reset: Network['reset'] = (labels, hardOnly, members) => {
    const one = (i: number) => {
      const task = model.tasks[i]!
      const fact = factOf(model, i)
      const due = task.dueMin !== undefined && (!hardOnly || task.dueStrength !== 'soft') ? task.dueMin : Infinity
      labels.lo[i] = fact ?? Math.max(problem.nowMin, task.releaseMin ?? -Infinity)
      labels.hi[i] = fact ?? due
      labels.loBy[i] = -1
      labels.hiBy[i] = -1
      labels.settled[i] = fact === undefined ? 0 : 1
      labels.length[i] = lengthOf(model, i)
    }
    if (members) members.forEach(one)
    else for (let i = 0; i < size; i++) one(i)
  }

  /**
   * Label correcting, first in first out. With lags on the working clock a circle of limits may move its tasks a few
   * times and then come to rest (over a night, say), so such a circle counts only when it climbs out of all calendars.
   */
  const spread = (
    from: readonly number[],
    relax: (i: number, push: (j: number, by: number) => void) => void,
    by: Int32Array,
    bound: Float64Array,
  ): Circle | undefined => {
    let head = 0
    let tail = 0
    let waiting = 0
    const touched: number[] = []
    let cycle: Circle | undefined
    const push = (j: number, link: number) => {
      by[j] = link
      if (queued[j]) return
      queued[j] = 1
      queue[tail] = j
      tail = tail === size ? 0 : tail + 1
      waiting++
    }
    for (const i of from) push(i, by[i]!)
    while (waiting > 0) {
      const i = queue[head]!
      head = head === size ? 0 : head + 1
      waiting--
      queued[i] = 0
      if (cycle) continue
      if (visits[i] === 0) touched.push(i)
      const seen = ++visits[i]!
      if (seen >= 8 && (seen & 7) === 0) {
        const circle = circleThrough(model, by, i)
        const sure = circle?.bounds.every((b) => !links[b.link]!.working) || Math.abs(bound[i]!) > farMin
        if (circle && sure) cycle = circle
        else if (seen > MOST_VISITS) cycle = circle ?? { tasks: [i], bounds: [] }
      }
      if (!cycle) relax(i, push)
    }
    for (const i of touched) visits[i] = 0
    return cycle
  }

  const spreadLo: Network['spreadLo'] = (labels, from) => {
    const { lo, settled, length } = labels
    return spread(
      from,
      (i, push) => {
        const start = lo[i]!
        for (const k of outOf[i]!) {
          const l = links[k]!
          if (!minOn[k] || settled[l.next]) continue
          const edge = l.fromEnd ? start + length[i]! : start
          const bound = l.working ? startFrom(l, edge, working) : edge + l.minLagMin
          if (bound > lo[l.next]!) {
            lo[l.next] = bound
            push(l.next, k)
          }
        }
        for (const k of into[i]!) {
          const l = links[k]!
          if (!maxOn[k] || settled[l.prev] || (l.fromEnd && mayPause[l.prev])) continue
          const edge = l.working ? edgeFrom(l, start, working) : start - l.maxLagMin
          const bound = l.fromEnd ? edge - length[l.prev]! : edge
          if (bound > lo[l.prev]!) {
            lo[l.prev] = bound
            push(l.prev, k)
          }
        }
      },
      labels.loBy,
      lo,
    )
  }

  const spreadHi: Network['spreadHi'] = (labels, from) => {
    const { hi, settled, length } = labels
    return spread(
      from,
      (i, push) => {
        const start = hi[i]!
        for (const k of into[i]!) {
          const l = links[k]!
          if (!minOn[k] || settled[l.prev]) continue
          const edge = l.working ? edgeUntil(l, start, working) : start - l.minLagMin
          const bound = l.fromEnd ? edge - length[l.prev]! : edge
          if (bound < hi[l.prev]!) {
            hi[l.prev] = bound
            push(l.prev, k)
          }
        }
        for (const k of outOf[i]!) {
          const l = links[k]!
          if (!maxOn[k] || settled[l.next] || (l.fromEnd && mayPause[i] && !settled[i])) continue
          const edge = l.fromEnd ? start + length[i]! : start
          const bound = l.working ? startUntil(l, edge, working) : edge + l.maxLagMin
          if (bound < hi[l.next]!) {
            hi[l.next] = bound
            push(l.next, k)
          }
        }
      },
      labels.hiBy,
      hi,
    )
  }
  return { reset, spreadLo, spreadHi }
}

/** Follows the links that set the bounds back from `i`; undefined when the walk ends at a fact. */
function circleThrough(model: Model, by: Int32Array, i: number): Circle | undefined {
  const seen = new Map<number, number>()
  const tasks: number[] = []
  const bounds: { link: number; max: boolean }[] = []
  let at = i
  while (!seen.has(at)) {
    seen.set(at, tasks.length)
    tasks.push(at)
    const k = by[at]!
    if (k < 0) return undefined
    const l = model.links[k]!
    // Lower bounds travel forward by minimum lags and back by maximum lags.
    bounds.push({ link: k, max: l.next !== at })
    at = l.next === at ? l.prev : l.next
  }
  const first = seen.get(at)
  return { tasks: tasks.slice(first), bounds: bounds.slice(first) }
}
