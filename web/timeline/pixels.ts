/** Five hundred rows at once: no bars, but per row and pixel column the most urgent thing there. */
import type { Palette } from '../palette.ts'
import { eachTouching } from './interval.ts'
import { CONFLICT, LATE, type Model } from './model.ts'
import type { Row } from './rows.ts'
import { msOf, type Scale, xOf } from './scale.ts'

/** Rising urgency: what lies higher is drawn over what lies lower. */
export const PIXEL_KINDS = [
  'none',
  'band',
  'done',
  'planned',
  'underway',
  'due',
  'blocked',
  'late',
  'conflict',
] as const
export type PixelKind = (typeof PIXEL_KINDS)[number]

export interface PixelMap {
  readonly x: number
  readonly y: number
  readonly widthPx: number
  readonly heightPx: number
  /** One kind, by its number, for each pixel; line after line. */
  readonly kinds: Uint8Array
}

/** What part of the rows is wanted, in pixels of the frame. */
export interface PixelPart {
  readonly scrollPx: number
  readonly y: number
  readonly heightPx: number
}

/** States of the model in their order: planned, due, under way, done, blocked. */
const OF_STATE = [3, 5, 4, 2, 6] as const

export function pixelMap(
  model: Model,
  rows: readonly Row[],
  tops: Float64Array,
  scale: Scale,
  part: PixelPart,
): PixelMap {
  const { scrollPx, y, heightPx } = part
  const leftX = scale.leftPx
  const widthPx = Math.max(1, Math.floor(scale.widthPx))
  const fromMs = msOf(scale, leftX - 1)
  const toMs = msOf(scale, leftX + widthPx + 1)
  const kinds = new Uint8Array(widthPx * heightPx)
  const line = new Uint8Array(widthPx)
  const raise = (fromMs: number, toMs: number, kind: number) => {
    // A thing narrower than a pixel still has the one it begins in.
    const begin = Math.floor(xOf(scale, fromMs) - leftX)
    const first = Math.max(0, begin)
    const last = Math.min(widthPx - 1, Math.max(begin, Math.ceil(xOf(scale, toMs) - leftX) - 1))
    for (let x = first; x <= last; x++) if ((line[x] as number) < kind) line[x] = kind
  }
  for (let r = 0; r < rows.length; r++) {
    const top = (tops[r] as number) - scrollPx
    const bottom = (tops[r + 1] as number) - scrollPx
    if (bottom <= 0 || top >= heightPx) continue
    const row = rows[r] as Row
    line.fill(0)
    eachTouching(
      row.bands,
      (ix) => model.phases[ix]?.endMs ?? 0,
      fromMs,
      toMs,
      (ix) => {
        const phase = model.phases[ix]
        if (phase) raise(phase.startMs, phase.endMs, 1)
      },
    )
    eachTouching(
      row.tasks,
      (ix) => model.endMs[ix] as number,
      fromMs,
      toMs,
      (ix) => {
        raise(model.startMs[ix] as number, model.endMs[ix] as number, kindOf(model, ix))
      },
    )
    const from = Math.max(0, Math.floor(top))
    const to = Math.min(heightPx, Math.max(from + 1, Math.floor(bottom)))
    for (let at = from; at < to; at++) kinds.set(line, at * widthPx)
  }
  return { x: leftX, y, widthPx, heightPx, kinds }
}

function kindOf(model: Model, ix: number): number {
  const state = model.state[ix] as number
  const flags = model.flags[ix] as number
  if (state === 3) return 2
  if (flags & CONFLICT) return 8
  if (flags & LATE) return 7
  return OF_STATE[state] as number
}

export function pixelColours(palette: Palette): readonly string[] {
  return [
    palette.ground,
    palette.hair,
    palette.done,
    palette.quiet,
    palette.kinds.check,
    palette.ink,
    palette.kinds.ferment,
    palette.late,
    palette.conflict,
  ]
}
