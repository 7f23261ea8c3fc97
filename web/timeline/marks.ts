/** What is to be seen of a row, as numbers: computed once here, drawn by any surface. */
import { type BandMark, bandMarks } from './bands.ts'
import { anchorOf, clip, clustersOf } from './clusters.ts'
import { eachTouching } from './interval.ts'
import type { Kept } from './kept.ts'
import type { Level, RowShape } from './lod.ts'
import { lookOf, type PegLook } from './look.ts'
import { BY_DAY, type Model, msOfWire } from './model.ts'
import type { Row } from './rows.ts'
import { edgesOf, type Scale, xOf } from './scale.ts'
import type { Series } from './spark.ts'

export type { BandMark } from './bands.ts'
export { mostUrgent, urgency } from './clusters.ts'

export interface PegMark {
  readonly x: number
  readonly y: number
  readonly size: number
  readonly look: PegLook
  readonly members: readonly number[]
  /** Foot of the stem: the band's upper edge, where there is one. */
  readonly footY: number
  readonly label: string
}

export interface BarMark {
  readonly x: number
  readonly y: number
  readonly w: number
  readonly h: number
  readonly look: PegLook
  readonly ix: number
  readonly label: string
  readonly room: number
}

export interface RowMarks {
  readonly bands: readonly BandMark[]
  readonly pegs: readonly PegMark[]
  readonly bars: readonly BarMark[]
  /** Float: x1, x2, y of each dotted tail. */
  readonly tails: readonly number[]
  /** Days of work whose hour is not named yet: x1, y, x2, y of each. */
  readonly shelves: readonly number[]
  readonly shut: readonly { readonly x: number; readonly w: number; readonly why: string }[]
  /** Where tasks stood in the plan that is held against this one: x there, x here, y. */
  readonly ghosts: readonly number[]
  /** Readings: x, y of each point in order, and what the last one says. */
  readonly spark?: { readonly points: readonly number[]; readonly label: string }
}

export interface RowPlace {
  readonly y: number
  readonly h: number
  readonly shape: RowShape
  readonly level: Level
}

export interface MarkContext {
  readonly model: Model
  readonly scale: Scale
  readonly nowMs: number
  /** A plan to hold this one against. */
  readonly kept?: Kept
  /** Readings by lot, where they are asked for. */
  readonly series?: ReadonlyMap<string, Series>
  /** Average width of a letter at label size. */
  readonly letterPx: number
}

/** Half a peg and its count reach this far beyond their place. */
const REACH_PX = 44

export function rowMarks(row: Row, place: RowPlace, context: MarkContext): RowMarks {
  const pegs: PegMark[] = []
  const tails: number[] = []
  const shelves: number[] = []
  if (place.level !== 'bars') pegMarks(row, place, context, { pegs, tails, shelves })
  return {
    bands: bandMarks(row, place, context),
    pegs,
    bars: place.level === 'bars' ? barMarks(row, place, context) : [],
    tails,
    shelves,
    shut: shutMarks(row, context),
    ghosts: context.kept && place.level !== 'bars' ? ghostMarks(row, place, context, context.kept) : [],
    ...sparkOf(row, place, context),
  }
}

function ghostMarks(row: Row, place: RowPlace, { model, scale }: MarkContext, kept: Kept): number[] {
  const y = place.y + place.shape.pegY
  const ghosts: number[] = []
  const { fromX, toX } = edgesOf(scale)
  for (const ix of row.tasks.ix) {
    const thenMs = kept.starts.get(model.plan.tasks[ix]?.key ?? '')
    const nowMs = model.startMs[ix] as number
    if (thenMs === undefined || thenMs === nowMs) continue
    const thenX = xOf(scale, thenMs)
    const x = xOf(scale, nowMs)
    // Less than a peg apart, the ghost would only thicken the peg.
    if (Math.abs(thenX - x) < place.shape.pegPx * 0.7) continue
    if (Math.max(thenX, x) > fromX - 8 && Math.min(thenX, x) < toX + 8) ghosts.push(thenX, x, y)
  }
  return ghosts
}

function sparkOf(row: Row, place: RowPlace, { scale, series }: MarkContext): Pick<RowMarks, 'spark'> {
  const line = row.kind === 'lot' ? series?.get(row.id) : undefined
  const { bandY, bandPx } = place.shape
  if (!line || bandPx < 8 || row.folded) return {}
  const top = place.y + bandY + 2
  const room = bandPx - 4
  const span = line.high - line.low || 1
  const points: number[] = []
  for (let i = 0; i < line.atMs.length; i++)
    points.push(xOf(scale, line.atMs[i] as number), top + room * (1 - ((line.value[i] as number) - line.low) / span))
  return { spark: { points, label: line.label } }
}

function shutMarks(row: Row, { scale }: MarkContext): RowMarks['shut'] {
  if (row.shut.length === 0) return []
  const { fromX, toX } = edgesOf(scale)
  const marks: { x: number; w: number; why: string }[] = []
  for (const s of row.shut) {
    const x = Math.max(fromX - 1, xOf(scale, s.fromMs))
    const w = Math.min(toX + 1, xOf(scale, s.toMs)) - x
    if (w > 0) marks.push({ x, w, why: s.why })
  }
  return marks
}

interface PegLists {
  readonly pegs: PegMark[]
  readonly tails: number[]
  readonly shelves: number[]
}

function pegMarks(row: Row, place: RowPlace, context: MarkContext, { pegs, tails, shelves }: PegLists): void {
  const { model, scale, nowMs } = context
  const { fromX, toX } = edgesOf(scale)
  if (row.tasks.ix.length === 0) return
  const { pegPx } = place.shape
  const clusters = clustersOf(row, model, { pxPerMs: scale.pxPerMs, pegPx })
  const leftX = xOf(scale, anchorOf(row))
  const y = place.y + place.shape.pegY
  const footY = row.bands.ix.length > 0 ? place.y + place.shape.bandY : y
  const full = place.level === 'full'
  // A label or a tail ends before the next peg, so one peg left of the plot is enough.
  for (let i = Math.max(0, firstFrom(clusters.x, fromX - REACH_PX - leftX) - 1); i < clusters.x.length; i++) {
    const x = leftX + (clusters.x[i] as number)
    if (x > toX + REACH_PX) break
    const members = clusters.members[i] as readonly number[]
    const ix = clusters.urgent[i] as number
    const task = full && members.length === 1 ? model.plan.tasks[ix] : undefined
    const nextX = leftX + (clusters.x[i + 1] ?? Number.POSITIVE_INFINITY)
    pegs.push({
      x,
      y,
      size: pegPx,
      look: lookOf(model, ix, nowMs),
      members,
      footY,
      label: task ? clip(task.name, nextX - x - pegPx * 1.2 - 6, context.letterPx) : '',
    })
    if (isWholeDay(model, ix)) {
      const fromX = xOf(scale, model.drawnFromMs[ix] as number)
      const toX = xOf(scale, model.drawnToMs[ix] as number)
      const shelfY = y + pegPx / 2 + 2.5
      if (toX - fromX > pegPx + 4) shelves.push(fromX + 2, shelfY, toX - 2, shelfY)
    }
    if (!task || isWholeDay(model, ix) || model.state[ix] === 3 || task.slackMin <= 0) continue
    const tailX = Math.min(nextX - pegPx, xOf(scale, msOfWire(task.latestAt)))
    const tailFromX = x + pegPx / 2 + 1
    if (tailX - tailFromX > 4) tails.push(tailFromX, tailX, y + pegPx / 2 + 2)
  }
}

const isWholeDay = (model: Model, ix: number): boolean => ((model.flags[ix] as number) & BY_DAY) !== 0

function firstFrom(list: Float64Array, x: number): number {
  let low = 0
  let high = list.length
  while (low < high) {
    const mid = (low + high) >> 1
    if ((list[mid] as number) < x) low = mid + 1
    else high = mid
  }
  return low
}

function barMarks(row: Row, place: RowPlace, context: MarkContext): BarMark[] {
  const { model, scale, nowMs } = context
  const bars: BarMark[] = []
  const lastIn = new Map<number, number>()
  const { laneY, lanePx } = place.shape
  eachTouching(
    row.tasks,
    (ix) => model.drawnToMs[ix] as number,
    scale.fromMs,
    scale.toMs,
    (ix, at) => {
      const lane = row.lanes[at] ?? 0
      const x = Math.max(scale.leftPx - 8, xOf(scale, model.drawnFromMs[ix] as number))
      const w = Math.max(4, Math.min(scale.leftPx + scale.widthPx + 8, xOf(scale, model.drawnToMs[ix] as number)) - x)
      const before = lastIn.get(lane)
      if (before !== undefined) {
        const prior = bars[before] as BarMark
        bars[before] = {
          ...prior,
          room: x - prior.x - 26,
          label: clip(prior.label, x - prior.x - 26, context.letterPx),
        }
      }
      lastIn.set(lane, bars.length)
      const room = scale.leftPx + scale.widthPx - x - 26
      bars.push({
        x,
        y: place.y + laneY + lane * lanePx,
        w,
        h: lanePx - 6,
        look: lookOf(model, ix, nowMs),
        ix,
        label: clip(model.plan.tasks[ix]?.name ?? '', room, context.letterPx),
        room,
      })
    },
  )
  return bars
}
