/** The bands of a row: where the wine is and what it does by itself, with its grain. */
import type { MarkContext, RowPlace } from './marks.ts'
import { type Model, PHASE_WORDS, type PhaseItem } from './model.ts'
import type { Row } from './rows.ts'
import { edgesOf, HOUR_MS, msOf, xOf } from './scale.ts'
import { bandPath } from './shape.ts'
import { everyNth, heightOf } from './texture.ts'

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
  /** Lees hatch: x, foot of each stroke, and how high they are. */
  readonly hatch: readonly number[]
  readonly leesPx: number
  readonly ticks: readonly number[]
  readonly labels: readonly { readonly x: number; readonly words: string }[]
  readonly whisker?: { readonly x1: number; readonly x2: number; readonly y: number }
  readonly baseline?: { readonly x1: number; readonly x2: number; readonly y: number }
}

/** A change of vessel is a gap of this much. */
const GAP_PX = 6
/** A long band says again what it is, so that it is said wherever one looks. */
const LABEL_EVERY_PX = 640

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

interface Lying {
  readonly phase: PhaseItem
  /** Over a quieter phase: lower, so that the other shows below. */
  readonly over: boolean
  /** Livelier phases that lie over it. */
  readonly under: readonly PhaseItem[]
}

const lyings = new WeakMap<Row, readonly Lying[]>()

/** The quiet one is drawn first: where two run at once, the lively one lies over it and leaves its foot to be seen. */
function lyingOf(row: Row, model: Model): readonly Lying[] {
  const known = lyings.get(row)
  if (known) return known
  const phases = Array.from(row.bands.ix, (ix) => model.phases[ix] as PhaseItem).sort(
    (a, b) => LIVELY.indexOf(b.kind) - LIVELY.indexOf(a.kind) || a.startMs - b.startMs,
  )
  const made = phases.map((phase, i) => {
    const beside = (other: PhaseItem) => other.startMs < phase.endMs - HOUR_MS && other.endMs > phase.startMs + HOUR_MS
    return { phase, over: phases.slice(0, i).some(beside), under: phases.slice(i + 1).filter(beside) }
  })
  lyings.set(row, made)
  return made
}

export function bandMarks(row: Row, place: RowPlace, context: MarkContext): BandMark[] {
  const { model, scale } = context
  const { fromX, toX } = edgesOf(scale)
  const fromMs = msOf(scale, fromX)
  const toMs = msOf(scale, toX)
  const bands: BandMark[] = []
  for (const lying of lyingOf(row, model)) {
    const { phase } = lying
    const kept = context.kept?.phases.get(phase.key)
    const first = Math.min(phase.startMs, phase.earliestEndMs ?? phase.startMs, kept?.[0] ?? phase.startMs)
    const last = Math.max(phase.endMs, phase.latestEndMs ?? phase.endMs, kept?.[1] ?? phase.endMs)
    if (last > fromMs && first < toMs) bands.push(bandMark(lying, row.kind === 'vessel', place, context))
  }
  return bands
}

function bandMark(lying: Lying, inVessel: boolean, place: RowPlace, context: MarkContext): BandMark {
  const { scale } = context
  const { fromX, toX } = edgesOf(scale)
  const { phase } = lying
  const startX = xOf(scale, phase.startMs)
  const endX = xOf(scale, phase.endMs)
  const gap = endX - startX > GAP_PX * 3 ? GAP_PX / 2 : 0
  const x = startX + gap
  const w = Math.max(2, endX - startX - 2 * gap)
  const y = place.y + place.shape.bandY
  const h = lying.over && place.shape.bandPx >= 12 ? Math.round(place.shape.bandPx * 0.62) : place.shape.bandPx
  const fine = h >= 6
  const shape = h < 5 ? 'tank' : phase.shape
  const turns = fine ? turnDots(phase, x, y, w, h, context) : []
  const kept = context.kept?.phases.get(phase.key)
  const leesPx = fine && phase.kind === 'lees' ? leesHeight(phase, h) : 0
  return {
    x,
    y,
    w,
    h,
    phase,
    path: shape === 'tank' ? '' : bandPath(shape, w, h),
    dots: phase.kind === 'ferment' ? turns : [],
    rings: phase.kind === 'malolactic' ? turns : [],
    lines: fine && (phase.kind === 'settle' || phase.kind === 'macerate') ? settleLines(x, y, w, h) : [],
    hatch: leesPx > 0 ? leesHatch(phase, x, y, w, h, leesPx, fromX, toX) : [],
    leesPx,
    ticks: fine && phase.kind === 'cold' ? evenly(x + 5, x + w - 3, 7, fromX, toX) : [],
    labels: h >= 10 ? labelsOf(lying, inVessel, x, w, context) : [],
    ...(fine &&
    phase.earliestEndMs !== undefined &&
    phase.latestEndMs !== undefined &&
    phase.latestEndMs > phase.earliestEndMs
      ? { whisker: { x1: xOf(scale, phase.earliestEndMs), x2: xOf(scale, phase.latestEndMs), y: y - 4 } }
      : {}),
    // Where nothing slipped, a second line would say nothing.
    ...(fine && kept && slips(kept, phase, scale.pxPerMs)
      ? { baseline: { x1: xOf(scale, kept[0]), x2: xOf(scale, kept[1]), y: y + h + 4 } }
      : {}),
  }
}

const slips = (kept: readonly [number, number], phase: PhaseItem, pxPerMs: number): boolean =>
  Math.max(Math.abs(kept[0] - phase.startMs), Math.abs(kept[1] - phase.endMs)) * pxPerMs > 1.5

function labelsOf(
  { phase, under }: Lying,
  inVessel: boolean,
  x: number,
  w: number,
  { scale, letterPx }: MarkContext,
): BandMark['labels'] {
  const { fromX, toX } = edgesOf(scale)
  const words = inVessel
    ? `${phase.lotCode} ${PHASE_WORDS[phase.kind]}`
    : `${PHASE_WORDS[phase.kind]}${phase.vessels.length > 0 ? `  ${vesselsWords(phase.vessels)}` : ''}`
  const wordings = [words, inVessel ? phase.lotCode : PHASE_WORDS[phase.kind]]
  const covers = under.map((p) => [xOf(scale, p.startMs), xOf(scale, p.endMs)] as const)
  // Where something livelier lies over its beginning, the name stands behind that.
  const firstX = covers.reduce((at, [x1, x2]) => (x1 <= at + 12 && x2 > at ? x2 + 8 : at), x + 6)
  const labels: { x: number; words: string }[] = []
  for (let at = firstX; at < x + w && at < toX; at += LABEL_EVERY_PX) {
    if (at + LABEL_EVERY_PX < fromX) continue
    const cover = covers.find(([x1, x2]) => x2 > at && x1 < at + words.length * letterPx)
    const room = (cover && cover[0] > at ? cover[0] : cover ? at : x + w) - at - 4
    const fits = wordings.find((text) => text.length >= 2 && text.length * letterPx <= room)
    if (fits) labels.push({ x: at, words: fits })
  }
  return labels
}

const vesselsWords = (codes: readonly string[]): string =>
  codes.length <= 2 ? codes.join(' ') : `${codes[0]} and ${codes.length - 1} more`

/** Dots come with the whole band's count, so that a pan never re-deals them. */
function turnDots(phase: PhaseItem, x: number, y: number, w: number, h: number, context: MarkContext): number[] {
  const { scale } = context
  const { fromX, toX } = edgesOf(scale)
  const { turns } = phase
  const fullPx = (phase.endMs - phase.startMs) * scale.pxPerMs
  const nth = everyNth(turns.length, fullPx * (h - 4), h < 12 ? 26 : 14)
  const offset = nth >> 1
  const first = firstAtOrAfter(turns, msOf(scale, fromX - 3))
  const dots: number[] = []
  for (let i = offset + Math.max(0, Math.ceil((first - offset) / nth)) * nth; i < turns.length; i += nth) {
    const dotX = xOf(scale, turns[i] as number)
    if (dotX > toX + 3) break
    if (dotX < x + 1.5 || dotX > x + w - 1.5) continue
    dots.push(dotX, y + 2.5 + heightOf(Math.floor(i / nth)) * (h - 5))
  }
  return dots
}

function firstAtOrAfter(list: Float64Array, atMs: number): number {
  let low = 0
  let high = list.length
  while (low < high) {
    const mid = (low + high) >> 1
    if ((list[mid] as number) < atMs) low = mid + 1
    else high = mid
  }
  return low
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

/** Lees are a few percent of a lot: drawn five times as high as they lie, so that a share can be told from half of it. */
export const LEES_TIMES = 5
/** Where nobody measured: gross lees of white wine after a first racking, some 5 %. Common practice. */
const LEES_SHARE = 0.05

const leesHeight = (phase: PhaseItem, h: number): number =>
  Math.max(2, Math.min(h - 2, Math.round(h * (phase.leesShare ?? LEES_SHARE) * LEES_TIMES)))

function leesHatch(
  phase: PhaseItem,
  x: number,
  y: number,
  w: number,
  h: number,
  leesPx: number,
  fromX: number,
  toX: number,
): number[] {
  // Kept clear of the ends by hand: clipping every band costs more than all its lines.
  const inset = phase.shape === 'tank' ? 2 : h * 0.5
  const foot = y + h - (phase.shape === 'barrel' ? 1.5 : 0.5)
  const every = h < 12 ? 7 : 4
  return evenly(x + inset, x + w - inset - leesPx, every, fromX - leesPx, toX).flatMap((at) => [
    at,
    foot,
    at + leesPx,
    foot - leesPx,
  ])
}

/** Places from `start` on, `every` so many pixels, those in sight. */
function evenly(start: number, end: number, every: number, fromX: number, toX: number): number[] {
  const places: number[] = []
  const first = start + Math.max(0, Math.floor((fromX - start) / every)) * every
  for (let at = first; at < end && at <= toX; at += every) places.push(at)
  return places
}
