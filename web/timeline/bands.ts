/** The bands of a row: where the wine is and what it does by itself, with its grain. */
import { coldTicks, leesHatch, leesHeight, settleLines } from './grain.ts'
import type { MarkContext, RowPlace } from './marks.ts'
import { type Model, PHASE_WORDS, type PhaseItem } from './model.ts'
import type { Row } from './rows.ts'
import { edgesOf, HOUR_MS, msOf, xOf } from './scale.ts'
import { bandPath } from './shape.ts'
import type { Comb } from './surface.ts'
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
  /** Lees, hatched as high as they lie. */
  readonly hatch?: Comb
  /** Kept cold. */
  readonly ticks?: Comb
  readonly labels: readonly { readonly x: number; readonly words: string }[]
  /** Under the band: above it, it would run through the stems of the pegs. */
  readonly whisker?: { readonly x1: number; readonly x2: number; readonly y: number }
  readonly baseline?: { readonly x1: number; readonly x2: number; readonly y: number }
}

/** A change of vessel is a gap of this much. */
const GAP_PX = 6
/** What is left to be seen of a quiet phase under a lively one; a name still fits over it. */
const FOOT_PX = 4
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
  const whole = place.shape.bandPx
  const h = lying.over && whole >= 10 + FOOT_PX ? whole - FOOT_PX : whole
  const fine = h >= 6
  // Clear of the whisker, where the row has room for both.
  const slipY = Math.max(3, Math.min(5, place.h - place.shape.bandY - whole - 1))
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
    ...(leesPx > 0 && { hatch: leesHatch(phase, x, y, w, h, leesPx, fromX, toX) }),
    ...(fine && phase.kind === 'cold' && { ticks: coldTicks(x, y, w, h, fromX, toX) }),
    labels: h >= 10 ? labelsOf(lying, inVessel, x, w, context) : [],
    ...(fine &&
    phase.earliestEndMs !== undefined &&
    phase.latestEndMs !== undefined &&
    phase.latestEndMs > phase.earliestEndMs
      ? { whisker: { x1: xOf(scale, phase.earliestEndMs), x2: xOf(scale, phase.latestEndMs), y: y + whole + 2.5 } }
      : {}),
    // Where nothing slipped, a second line would say nothing.
    ...(fine && kept && slips(kept, phase, scale.pxPerMs)
      ? { baseline: { x1: xOf(scale, kept[0]), x2: xOf(scale, kept[1]), y: y + whole + slipY } }
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
