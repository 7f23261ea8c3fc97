/** What is to be seen, as numbers: computed once here, drawn by any surface. */
import { eachTouching } from './interval.ts'
import type { Level, RowShape } from './lod.ts'
import { lookOf, type PegLook } from './look.ts'
import { mergeSpots, type Spot } from './merge.ts'
import { CONFLICT, LATE, type Model, msOfWire, PHASE_WORDS, type PhaseItem } from './model.ts'
import type { Row } from './rows.ts'
import { HOUR_MS, type Scale, xOf } from './scale.ts'
import { bandPath } from './shape.ts'
import { everyNth, heightOf } from './texture.ts'

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

export interface BandMark {
  readonly x: number
  readonly y: number
  readonly w: number
  readonly h: number
  readonly phase: PhaseItem
  readonly path: string
  readonly dots: readonly number[]
  readonly rings: readonly number[]
  /** x1, y, x2, thickness of each. */
  readonly lines: readonly number[]
  readonly leesPx: number
  readonly ticks: readonly number[]
  readonly label: string
  readonly labelX: number
  readonly whisker?: { readonly x1: number; readonly x2: number; readonly y: number }
  readonly baseline?: { readonly x1: number; readonly x2: number; readonly y: number }
}

export interface RowMarks {
  readonly bands: readonly BandMark[]
  readonly pegs: readonly PegMark[]
  readonly bars: readonly BarMark[]
  /** Float: x1, x2, y of each dotted tail. */
  readonly tails: readonly number[]
  readonly shut: readonly { readonly x: number; readonly w: number; readonly why: string }[]
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
  /** A plan kept for comparison: where each phase stood in it. */
  readonly kept?: ReadonlyMap<string, readonly [fromMs: number, toMs: number]>
  /** Average width of a letter at label size. */
  readonly letterPx: number
}

/** A change of vessel is a gap of this much. */
const GAP_PX = 6

export function rowMarks(row: Row, place: RowPlace, context: MarkContext): RowMarks {
  const { scale } = context
  const leftPx = scale.leftPx
  const rightPx = scale.leftPx + scale.widthPx
  const shut = row.shut
    .filter((s) => s.toMs > scale.fromMs && s.fromMs < scale.toMs)
    .map((s) => {
      const x = Math.max(leftPx, xOf(scale, s.fromMs))
      return { x, w: Math.min(rightPx, xOf(scale, s.toMs)) - x, why: s.why }
    })
  const pegs = place.level === 'bars' ? [] : pegMarks(row, place, context)
  return {
    bands: bandMarks(row, place, context),
    pegs,
    bars: place.level === 'bars' ? barMarks(row, place, context) : [],
    tails: place.level === 'full' ? tails(pegs, context) : [],
    shut,
  }
}

function bandMarks(row: Row, place: RowPlace, context: MarkContext): BandMark[] {
  const { model, scale } = context
  const phases: PhaseItem[] = []
  eachTouching(
    row.bands,
    (ix) => model.phases[ix]?.endMs ?? 0,
    scale.fromMs,
    scale.toMs,
    (ix) => {
      phases.push(model.phases[ix] as PhaseItem)
    },
  )
  // The quiet one is drawn first: where two run at once, the lively one lies over it and leaves its foot to be seen.
  phases.sort((a, b) => LIVELY.indexOf(b.kind) - LIVELY.indexOf(a.kind) || a.startMs - b.startMs)
  return phases.map((phase, i) => {
    const beside = (other: PhaseItem) => other.startMs < phase.endMs - HOUR_MS && other.endMs > phase.startMs + HOUR_MS
    const over = phases.slice(0, i).some(beside)
    const covers = phases.slice(i + 1).filter(beside)
    const coveredMs = covers.reduce(
      (ms, c) => (c.startMs <= Math.max(phase.startMs, scale.fromMs) + HOUR_MS ? Math.max(ms, c.endMs) : ms),
      phase.startMs,
    )
    return bandMark(phase, { inVessel: row.kind === 'vessel', over, labelFromMs: coveredMs }, place, context)
  })
}

interface Lying {
  readonly inVessel: boolean
  /** Over a quieter phase: lower, so that the other shows below. */
  readonly over: boolean
  /** Nothing covers the band from here on. */
  readonly labelFromMs: number
}

/** Liveliest first. */
const LIVELY: readonly PhaseItem['kind'][] = [
  'fruit',
  'ferment',
  'settle',
  'malolactic',
  'macerate',
  'cold',
  'lees',
  'store',
]

function bandMark(phase: PhaseItem, lying: Lying, place: RowPlace, context: MarkContext): BandMark {
  const { scale } = context
  const edge = 24
  // Far ends are cut at the window's edge, so that no path is longer than the screen.
  const fromX = Math.max(scale.leftPx - edge, xOf(scale, phase.startMs))
  const toX = Math.min(scale.leftPx + scale.widthPx + edge, xOf(scale, phase.endMs))
  const gap = toX - fromX > GAP_PX * 3 ? GAP_PX / 2 : 0
  const x = fromX + gap
  const w = Math.max(2, toX - fromX - 2 * gap)
  const y = place.y + place.shape.bandY
  const { inVessel } = lying
  const h = lying.over && place.shape.bandPx >= 12 ? Math.round(place.shape.bandPx * 0.62) : place.shape.bandPx
  const fine = h >= 6
  const turns = fine ? turnDots(phase, x, y, w, h, scale) : []
  const words = inVessel
    ? `${phase.lotCode} ${PHASE_WORDS[phase.kind]}`
    : `${PHASE_WORDS[phase.kind]}${phase.vessels.length > 0 ? `  ${vesselsWords(phase.vessels)}` : ''}`
  const labelX = Math.max(
    x + 6,
    scale.leftPx + 6,
    lying.labelFromMs > phase.startMs ? xOf(scale, lying.labelFromMs) + 8 : 0,
  )
  const short = fitting(
    [words, inVessel ? phase.lotCode : PHASE_WORDS[phase.kind]],
    x + w - labelX - 4,
    context.letterPx,
  )
  const kept = context.kept?.get(phase.key)
  return {
    x,
    y,
    w,
    h,
    phase,
    path: bandPath(h < 5 ? 'tank' : phase.shape, w, h),
    dots: phase.kind === 'ferment' ? turns : [],
    rings: phase.kind === 'malolactic' ? turns : [],
    lines: fine && (phase.kind === 'settle' || phase.kind === 'macerate') ? settleLines(x, y, w, h) : [],
    leesPx: fine && phase.kind === 'lees' ? Math.max(3, Math.round(h * 0.25)) : 0,
    ticks: fine && phase.kind === 'cold' ? coldTicks(x, w) : [],
    label: h >= 11 ? short : '',
    labelX,
    ...(fine &&
    phase.earliestEndMs !== undefined &&
    phase.latestEndMs !== undefined &&
    phase.latestEndMs > phase.earliestEndMs
      ? { whisker: { x1: xOf(scale, phase.earliestEndMs), x2: xOf(scale, phase.latestEndMs), y: y - 4 } }
      : {}),
    ...(fine && kept ? { baseline: { x1: xOf(scale, kept[0]), x2: xOf(scale, kept[1]), y: y + h + 4 } } : {}),
  }
}

const vesselsWords = (codes: readonly string[]): string =>
  codes.length <= 2 ? codes.join(' ') : `${codes[0]} and ${codes.length - 1} more`

/** The longest wording that fits, with three letters at least; else none: the name comes with focus. */
function fitting(wordings: readonly string[], roomPx: number, letterPx: number): string {
  return wordings.find((w) => w.length >= 2 && w.length * letterPx <= roomPx) ?? ''
}

function turnDots(phase: PhaseItem, x: number, y: number, w: number, h: number, scale: Scale): number[] {
  const { turns } = phase
  const fullPx = (phase.endMs - phase.startMs) * scale.pxPerMs
  const nth = everyNth(turns.length, fullPx * (h - 4), h < 12 ? 26 : 14)
  const dots: number[] = []
  for (let i = nth >> 1; i < turns.length; i += nth) {
    const dotX = xOf(scale, turns[i] as number)
    if (dotX < x + 1.5 || dotX > x + w - 1.5) continue
    dots.push(dotX, y + 2.5 + heightOf(Math.floor(i / nth)) * (h - 5))
  }
  return dots
}

/** Juice clears from the top: each line ends where its height has cleared, and the lines thin out upward. */
function settleLines(x: number, y: number, w: number, h: number): number[] {
  const lines: number[] = []
  const count = Math.max(2, Math.floor(h / 3.5))
  for (let i = 0; i < count; i++) {
    const up = i / count
    lines.push(x + 1.5, y + h - 2.5 - up * (h - 4), x + 1.5 + (w - 3) * (1 - up * 0.82), 1.4 - up)
  }
  return lines
}

function coldTicks(x: number, w: number): number[] {
  const ticks: number[] = []
  for (let at = x + 5; at < x + w - 3; at += 7) ticks.push(at)
  return ticks
}

function pegMarks(row: Row, place: RowPlace, context: MarkContext): PegMark[] {
  const { model, scale, nowMs } = context
  const spots: Spot[] = []
  // Pegs stand at the start; one that begins just left of the window may still show half.
  const marginMs = 10 / scale.pxPerMs
  eachTouching(
    row.tasks,
    (ix) => model.startMs[ix] as number,
    scale.fromMs - marginMs,
    scale.toMs + marginMs,
    (ix) => {
      spots.push({
        ix,
        x: xOf(scale, model.startMs[ix] as number),
        alone: ((model.flags[ix] as number) & (LATE | CONFLICT)) !== 0 && model.state[ix] !== 3,
      })
    },
  )
  const clusters = mergeSpots(
    spots,
    place.shape.pegPx < 6 ? 3 : Math.max(8, place.shape.pegPx - 3),
    place.shape.pegPx < 6 ? 0 : 8,
  ).toSorted((a, b) => a.x - b.x)
  const y = place.y + place.shape.pegY
  const footY = row.bands.ix.length > 0 ? place.y + place.shape.bandY : y
  const labelled = place.level === 'full'
  return clusters.map(({ x, members }, i) => {
    const urgent = mostUrgent(model, members)
    const nextX = clusters[i + 1]?.x ?? scale.leftPx + scale.widthPx
    const name = labelled && members.length === 1 ? (model.plan.tasks[urgent]?.name ?? '') : ''
    const room = nextX - x - place.shape.pegPx - 6
    return {
      x,
      y,
      size: place.shape.pegPx,
      look: lookOf(model, urgent, nowMs),
      members,
      footY,
      label: clip(name, room, context.letterPx),
    }
  })
}

function clip(words: string, roomPx: number, letterPx: number): string {
  const letters = Math.floor(roomPx / letterPx)
  if (words.length <= letters) return words
  return letters >= 8 ? `${words.slice(0, letters - 1).trimEnd()}\u2026` : ''
}

/** Conflict, late, blocked, under way, due, planned, done. */
export function urgency(model: Model, ix: number): number {
  const flags = model.flags[ix] as number
  const state = model.state[ix] as number
  if (state === 3) return 0
  return ((flags & CONFLICT) !== 0 ? 64 : 0) + ((flags & LATE) !== 0 ? 32 : 0) + [1, 4, 8, 0, 16][state]!
}

export const mostUrgent = (model: Model, members: readonly number[]): number =>
  members.reduce((best, ix) => (urgency(model, ix) > urgency(model, best) ? ix : best), members[0] as number)

function barMarks(row: Row, place: RowPlace, context: MarkContext): BarMark[] {
  const { model, scale, nowMs } = context
  const bars: BarMark[] = []
  const lastIn = new Map<number, number>()
  const { laneY, lanePx } = place.shape
  eachTouching(
    row.tasks,
    (ix) => model.endMs[ix] as number,
    scale.fromMs,
    scale.toMs,
    (ix, at) => {
      const lane = row.lanes[at] ?? 0
      const x = Math.max(scale.leftPx - 8, xOf(scale, model.startMs[ix] as number))
      const w = Math.max(4, Math.min(scale.leftPx + scale.widthPx + 8, xOf(scale, model.endMs[ix] as number)) - x)
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

/** Float as a dotted tail to the latest start, or as far as the next peg leaves it room; only open work has any. */
function tails(pegs: readonly PegMark[], context: MarkContext): number[] {
  const { model, scale } = context
  const out: number[] = []
  pegs.forEach((peg, i) => {
    const ix = peg.members[0] as number
    const task = model.plan.tasks[ix]
    if (peg.members.length > 1 || !task || model.state[ix] === 3 || task.slackMin <= 0) return
    const nextX = pegs[i + 1]?.x ?? Number.POSITIVE_INFINITY
    const x2 = Math.min(scale.leftPx + scale.widthPx, nextX - peg.size, xOf(scale, msOfWire(task.latestAt)))
    const x1 = peg.x + peg.size / 2 + 1
    if (x2 - x1 > 4) out.push(x1, x2, peg.y + peg.size / 2 + 2)
  })
  return out
}
