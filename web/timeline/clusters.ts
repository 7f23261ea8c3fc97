/** Pegs of a row at one zoom, merged once over the whole vintage: a pan only looks up which are in sight. */
import { mergeSpots, type Spot } from './merge.ts'
import { BY_DAY, CONFLICT, LATE, type Model } from './model.ts'
import type { Row } from './rows.ts'

export interface Clusters {
  /** Pixels from the row's first task. */
  readonly x: Float64Array
  readonly members: readonly (readonly number[])[]
  /** The task whose look each shows. */
  readonly urgent: Int32Array
}

interface Zoom {
  readonly pxPerMs: number
  readonly pegPx: number
}

interface Shelf extends Zoom {
  readonly clusters: Clusters
}

const shelves = new WeakMap<Row, Shelf>()

export const anchorOf = (row: Row): number => row.tasks.startMs[0] ?? 0

export function clustersOf(row: Row, model: Model, zoom: Zoom): Clusters {
  const known = shelves.get(row)
  if (known && known.pxPerMs === zoom.pxPerMs && known.pegPx === zoom.pegPx) return known.clusters
  const clusters = mergeRow(row, model, zoom)
  shelves.set(row, { ...zoom, clusters })
  return clusters
}

function mergeRow(row: Row, model: Model, { pxPerMs, pegPx }: Zoom): Clusters {
  const { ix, startMs } = row.tasks
  const anchorMs = anchorOf(row)
  const spots: Spot[] = new Array(ix.length)
  for (let i = 0; i < ix.length; i++) {
    const at = ix[i] as number
    spots[i] = {
      ix: at,
      x: (pegMs(model, at, startMs[i] as number) - anchorMs) * pxPerMs,
      alone: ((model.flags[at] as number) & (LATE | CONFLICT)) !== 0 && model.state[at] !== 3,
    }
  }
  // The middle of a day may lie behind an hour of the same day.
  if (model.drawnFromMs !== model.startMs) spots.sort((a, b) => a.x - b.x)
  const small = pegPx < 6
  const merged = mergeSpots(spots, small ? 3 : Math.max(8, pegPx - 3), small ? 0 : 8)
  const x = new Float64Array(merged.length)
  const urgent = new Int32Array(merged.length)
  for (let i = 0; i < merged.length; i++) {
    const cluster = merged[i] as (typeof merged)[0]
    x[i] = cluster.x
    urgent[i] = mostUrgent(model, cluster.members)
  }
  return { x, members: merged.map((c) => c.members), urgent }
}

const HALF_DAY_MS = 12 * 3_600_000

/** Where the peg of a task stands: at its start, or in the middle of its day. */
export const pegMs = (model: Model, ix: number, fromMs: number): number =>
  (model.flags[ix] as number) & BY_DAY && model.drawnFromMs !== model.startMs ? fromMs + HALF_DAY_MS : fromMs

/** Shortened to the room there is; less than eight letters say nothing. */
export function clip(words: string, roomPx: number, letterPx: number): string {
  const letters = Math.floor(roomPx / letterPx)
  if (words.length <= letters) return words
  return letters >= 8 ? `${words.slice(0, letters - 1).trimEnd()}\u2026` : ''
}

/** Conflict, late, blocked, under way, due, planned, done. */
export function urgency(model: Model, ix: number): number {
  const flags = model.flags[ix] as number
  const state = model.state[ix] as number
  if (state === 3) return 0
  return ((flags & CONFLICT) !== 0 ? 64 : 0) + ((flags & LATE) !== 0 ? 32 : 0) + (URGENCY[state] as number)
}

const URGENCY = [1, 4, 8, 0, 16] as const

export const mostUrgent = (model: Model, members: readonly number[]): number => {
  let best = members[0] as number
  if (members.length === 1) return best
  for (const ix of members) if (urgency(model, ix) > urgency(model, best)) best = ix
  return best
}
