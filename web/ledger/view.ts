/** Which part of a drawing is seen, how large. Pure; the picture and the paper use the same. */

export interface View {
  /** Of the drawing at the upper left corner of the window, drawing px. */
  readonly x: number
  readonly y: number
  /** Window px for a drawing px. */
  readonly scale: number
}

export interface Size {
  readonly widthPx: number
  readonly heightPx: number
}

export const LEAST_SCALE = 0.04
export const MOST_SCALE = 4

/** Under this, words cannot be read and are not drawn. */
export const WORDS_FROM = 0.45

export const clampScale = (scale: number): number => Math.min(MOST_SCALE, Math.max(LEAST_SCALE, scale))

/** Larger or smaller; what is under the point stays under it. */
export function zoomAt(view: View, factor: number, atPx: number, atPy: number): View {
  const scale = clampScale(view.scale * factor)
  return { scale, x: view.x + atPx / view.scale - atPx / scale, y: view.y + atPy / view.scale - atPy / scale }
}

/** Pulls the drawing along, but never out of the window: a strip stays in sight. */
export function panBy(view: View, dxPx: number, dyPx: number, drawing: Size, window: Size): View {
  const keepPx = 60 / view.scale
  const between = (value: number, least: number, most: number) => Math.max(least, Math.min(most, value))
  return {
    scale: view.scale,
    x: between(view.x - dxPx / view.scale, keepPx - window.widthPx / view.scale, drawing.widthPx - keepPx),
    y: between(view.y - dyPx / view.scale, keepPx - window.heightPx / view.scale, drawing.heightPx - keepPx),
  }
}

/** All of it in the middle, at most life-size. */
export function fitted(drawing: Size, window: Size): View {
  const scale = clampScale(Math.min(1, window.widthPx / drawing.widthPx, window.heightPx / drawing.heightPx))
  return {
    scale,
    x: (drawing.widthPx - window.widthPx / scale) / 2,
    y: (drawing.heightPx - window.heightPx / scale) / 2,
  }
}

/** All of it where that can be read; else as small as can be read, with a node in the middle of its edge. */
export function opened(drawing: Size, window: Size, about: { readonly x: number; readonly y: number }): View {
  const whole = fitted(drawing, window)
  if (whole.scale >= 0.6) return whole
  const scale = 0.7
  const across = window.widthPx / scale
  const down = window.heightPx / scale
  const inside = (at: number, seen: number, all: number) =>
    seen >= all ? (all - seen) / 2 : Math.max(0, Math.min(all - seen, at - seen / 2))
  return { scale, x: inside(about.x, across, drawing.widthPx), y: inside(about.y, down, drawing.heightPx) }
}

/** Sheets of paper that hold the whole drawing where words can still be read, row by row. */
export function sheetsOf(
  drawing: Size,
  paper: Size,
  leastScale = 0.55,
): readonly { readonly x: number; readonly y: number; readonly widthPx: number; readonly heightPx: number }[] {
  const whole = Math.min(1, paper.widthPx / drawing.widthPx, paper.heightPx / drawing.heightPx)
  const scale = Math.max(whole, leastScale)
  const widthPx = paper.widthPx / scale
  const heightPx = paper.heightPx / scale
  const across = Math.max(1, Math.ceil(drawing.widthPx / widthPx - 1e-9))
  const down = Math.max(1, Math.ceil(drawing.heightPx / heightPx - 1e-9))
  return Array.from({ length: across * down }, (_, i) => ({
    x: (i % across) * widthPx,
    y: Math.floor(i / across) * heightPx,
    widthPx,
    heightPx,
  }))
}
