/** A few strokes that both a canvas and an SVG document can make. Marks are drawn only through these. */

export interface TextStyle {
  readonly px: number
  readonly fill: string
  readonly weight?: 400 | 600 | 700
  readonly align?: 'start' | 'middle' | 'end'
}

export interface PathStyle {
  readonly fill?: string
  readonly stroke?: string
  readonly width?: number
}

export interface Place {
  readonly x: number
  readonly y: number
  readonly scale?: number
}

export interface Comb {
  readonly x: number
  readonly y: number
  readonly count: number
  readonly every: number
  readonly dx: number
  readonly dy: number
}

export interface Surface {
  rect(x: number, y: number, w: number, h: number, fill: string): void
  path(d: string, at: Place, style: PathStyle): void
  /** Segments x1, y1, x2, y2 ... under one stroke. */
  segments(points: readonly number[], stroke: string, width: number, dash?: readonly number[]): void
  /** Boxes x, y, w, h ... of one colour. */
  rects(boxes: readonly number[], fill: string): void
  /** Right-angled links x1, y1, x2, y2 ... */
  elbows(links: readonly number[], stroke: string, width: number, dash?: readonly number[]): void
  /** Centres x, y ... */
  dots(centres: readonly number[], radius: number, colour: string, open?: boolean): void
  /** Level dotted lines x1, x2, y ... */
  dotted(lines: readonly number[], colour: string): void
  /** Like strokes side by side, a pixel wide: `count` of them, each `every` so many pixels, from (x, y) to (x + dx, y + dy). */
  teeth(comb: Comb, colour: string): void
  text(words: string, x: number, y: number, style: TextStyle): void
  clipRect(x: number, y: number, w: number, h: number, inside: () => void): void
  clipPath(d: string, at: Place, inside: () => void): void
  /** One colour, by its number, for each pixel of a rectangle; line after line. */
  pixels(x: number, y: number, w: number, h: number, kinds: Uint8Array, colours: readonly string[]): void
  /** A drawing made once and stamped many times: `name` must tell all that it depends on. */
  stamp(name: number | string, halfPx: number, x: number, y: number, draw: (to: Surface) => void): void
}

/** A link leaves to the right and turns just before the task it leads to. */
export const elbowOf = (x1: number, x2: number): number => Math.max(x1 + 3, x2 - 7)
