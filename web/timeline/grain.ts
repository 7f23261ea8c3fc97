/** The grain of a band, as strokes: clearing juice, lees as high as they lie, wine kept cold. */
import type { PhaseItem } from './model.ts'
import type { Comb } from './surface.ts'

/** Juice clears from the top: each line ends where its height has cleared, and the lines thin out upward. */
export function settleLines(x: number, y: number, w: number, h: number): number[] {
  const lines: number[] = []
  const count = Math.max(2, Math.floor(h / 3.5))
  for (let i = 0; i < count; i++) {
    const up = i / count
    lines.push(x + 1.5, y + h - 2.5 - up * (h - 4), x + 1.5 + (w - 3) * (1 - up * 0.82), 1.4 - up)
  }
  return lines
}

/** Lees are a few percent of a lot: drawn five times as high as they lie, so that a share can be told from half of it. */
const LEES_TIMES = 5
/** Where nobody measured: gross lees of white wine after a first racking, some 5 %. Common practice. */
const LEES_SHARE = 0.05

export const leesHeight = (phase: PhaseItem, h: number): number =>
  Math.max(2, Math.min(h - 2, Math.round(h * (phase.leesShare ?? LEES_SHARE) * LEES_TIMES)))

export function leesHatch(
  phase: PhaseItem,
  x: number,
  y: number,
  w: number,
  h: number,
  leesPx: number,
  fromX: number,
  toX: number,
): Comb {
  // Kept clear of the ends by hand: clipping every band costs more than all its lines.
  const inset = phase.shape === 'tank' ? 2 : h * 0.5
  const foot = y + h - (phase.shape === 'barrel' ? 1.5 : 0.5)
  const every = h < 12 ? 7 : 4
  const strokes = evenly(x + inset, x + w - inset - leesPx, every, fromX - leesPx, toX)
  return { ...strokes, y: foot, every, dx: leesPx, dy: -leesPx }
}

const COLD_EVERY_PX = 7

export const coldTicks = (x: number, y: number, w: number, h: number, fromX: number, toX: number): Comb => ({
  ...evenly(x + 5, x + w - 3, COLD_EVERY_PX, fromX, toX),
  y: y + 1,
  every: COLD_EVERY_PX,
  dx: 0,
  dy: Math.round(h * 0.38),
})

/** Places from `start` on, `every` so many pixels: the first in sight, and how many. */
function evenly(
  start: number,
  end: number,
  every: number,
  fromX: number,
  toX: number,
): { readonly x: number; readonly count: number } {
  const x = start + Math.max(0, Math.floor((fromX - start) / every)) * every
  return { x, count: Math.max(0, Math.min(Math.ceil((end - x) / every), Math.floor((toX - x) / every) + 1)) }
}
