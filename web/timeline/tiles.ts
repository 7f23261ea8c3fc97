/** The chart is drawn in tiles that keep their place in the plan: a pan moves them as one and draws only what comes into sight. */
import type { FrameInput } from './frame.ts'

/** Everything a tile is drawn from but the place one looks at; compared by identity. */
export type Basis = readonly unknown[]

export const isSameBasis = (a: Basis | undefined, b: Basis): boolean =>
  a !== undefined && a.length === b.length && a.every((value, i) => Object.is(value, b[i]))

/** What one looks at, in whole device pixels of the plan: from the plan's first moment and from the first row. */
export interface Look {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/** Where tiles begin and how large they are, in whole device pixels. */
export interface Tiling {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

export interface Tile {
  readonly column: number
  readonly row: number
}

/** Tiles that fill a look exactly: what is drawn whole is drawn once, and no more than is seen. */
export const tilingOf = (look: Look, across: number, down: number): Tiling => ({
  left: look.left,
  top: look.top,
  width: Math.max(1, Math.ceil(look.width / across)),
  height: Math.max(1, Math.ceil(look.height / down)),
})

export function tilesIn(tiling: Tiling, look: Look): readonly Tile[] {
  const tiles: Tile[] = []
  const first = Math.floor((look.left - tiling.left) / tiling.width)
  const last = Math.ceil((look.left + look.width - tiling.left) / tiling.width)
  const top = Math.floor((look.top - tiling.top) / tiling.height)
  const bottom = Math.ceil((look.top + look.height - tiling.top) / tiling.height)
  for (let row = top; row < bottom; row++) for (let column = first; column < last; column++) tiles.push({ column, row })
  return tiles
}

/** Signs of trouble reach this far beyond their row. */
const REACH_PX = 4

/** A box of the plan as a frame of its own: no names, no axis; rows, or the strip of loads. */
export function boxInput(input: FrameInput, box: Look, ratio: number, part: 'rows' | 'names' | 'strip'): FrameInput {
  const { scale, model, geometry } = input
  const widthPx = box.width / ratio
  const fromMs = model.firstMs + box.left / (scale.pxPerMs * ratio)
  return {
    ...input,
    scale:
      part === 'names'
        ? { ...scale, leftPx: widthPx }
        : { fromMs, toMs: fromMs + widthPx / scale.pxPerMs, leftPx: 0, widthPx, pxPerMs: scale.pxPerMs },
    scrollPx: part === 'strip' ? 0 : box.top / ratio,
    geometry: {
      ...geometry,
      widthPx,
      heightPx: box.height / ratio,
      gutterPx: part === 'names' ? widthPx : 0,
      axisPx: 0,
      stripPx: part === 'strip' ? geometry.stripPx : 0,
    },
    reachPx: REACH_PX,
  }
}
