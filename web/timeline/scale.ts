/** Instants to pixels and back. Linear in elapsed time, so a DST day is as wide as it is long; the zone belongs to the ticks. */

export interface Scale {
  readonly fromMs: number
  readonly toMs: number
  readonly leftPx: number
  readonly widthPx: number
  readonly pxPerMs: number
}

export const HOUR_MS = 3_600_000
export const DAY_MS = 24 * HOUR_MS
export const SHORTEST_MS = DAY_MS
/** Eighteen months: a vintage from the first sample to the last bottling. */
export const LONGEST_MS = 549 * DAY_MS

export function timeScale(fromMs: number, toMs: number, widthPx: number, leftPx = 0): Scale {
  if (!(toMs > fromMs)) throw new RangeError(`a scale must end after it starts, got ${fromMs} to ${toMs}`)
  if (!(widthPx > 0)) throw new RangeError(`widthPx must be > 0, got ${widthPx}`)
  return { fromMs, toMs, leftPx, widthPx, pxPerMs: widthPx / (toMs - fromMs) }
}

export const xOf = (scale: Scale, atMs: number): number => scale.leftPx + (atMs - scale.fromMs) * scale.pxPerMs

/** The instant under a pixel, to the whole millisecond: `msOf(xOf(t)) === t` for every whole t. */
export const msOf = (scale: Scale, xPx: number): number =>
  Math.round(scale.fromMs + (xPx - scale.leftPx) / scale.pxPerMs)

export const edgesOf = ({ leftPx, widthPx }: Scale): { readonly fromX: number; readonly toX: number } => ({
  fromX: leftPx,
  toX: leftPx + widthPx,
})

export const daysShown = (scale: Scale): number => (scale.toMs - scale.fromMs) / DAY_MS

/** Zooms by a factor; the instant under `anchorPx` stays under it. Factor > 1 shows less time. */
export function zoomAt(scale: Scale, factor: number, anchorPx: number): Scale {
  const spanMs = scale.toMs - scale.fromMs
  const nextMs = Math.min(LONGEST_MS, Math.max(SHORTEST_MS, spanMs / factor))
  const share = (anchorPx - scale.leftPx) / scale.widthPx
  const anchorMs = scale.fromMs + share * spanMs
  const fromMs = anchorMs - share * nextMs
  return timeScale(fromMs, fromMs + nextMs, scale.widthPx, scale.leftPx)
}

export function panBy(scale: Scale, dxPx: number): Scale {
  const byMs = -dxPx / scale.pxPerMs
  return timeScale(scale.fromMs + byMs, scale.toMs + byMs, scale.widthPx, scale.leftPx)
}

/** Keeps some of the plan in sight: the view may pass the plan's ends by half its own span. */
export function keepWithin(scale: Scale, firstMs: number, lastMs: number): Scale {
  const spanMs = scale.toMs - scale.fromMs
  const lowMs = firstMs - spanMs / 2
  const highMs = Math.max(lowMs, lastMs - spanMs / 2)
  const fromMs = Math.min(highMs, Math.max(lowMs, scale.fromMs))
  return fromMs === scale.fromMs ? scale : timeScale(fromMs, fromMs + spanMs, scale.widthPx, scale.leftPx)
}

/**
 * The same scale with its origin on a whole device pixel, so that a pan can copy what is drawn. At most half a pixel
 * off; a span that differs only by the last digits of a sum keeps the zoom of before.
 *
 * @param anchorMs any moment of the plan: places are counted from it
 * @param ratio device pixels for each CSS pixel
 */
export function steadyScale(scale: Scale, anchorMs: number, ratio: number, before?: Scale): Scale {
  const isSameZoom =
    before !== undefined &&
    before.widthPx === scale.widthPx &&
    Math.abs(before.pxPerMs - scale.pxPerMs) < scale.pxPerMs * 1e-9
  const pxPerMs = isSameZoom ? before.pxPerMs : scale.pxPerMs
  const perMs = pxPerMs * ratio
  const fromMs = anchorMs + Math.round((scale.fromMs - anchorMs) * perMs) / perMs
  return { fromMs, toMs: fromMs + scale.widthPx / pxPerMs, leftPx: scale.leftPx, widthPx: scale.widthPx, pxPerMs }
}
