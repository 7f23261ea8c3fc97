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

export interface Surface {
  rect(x: number, y: number, w: number, h: number, fill: string): void
  path(d: string, at: Place, style: PathStyle): void
  /** Segments x1, y1, x2, y2 ... under one stroke. */
  segments(points: readonly number[], stroke: string, width: number, dash?: readonly number[]): void
  /** Centres x, y ... */
  dots(centres: readonly number[], radius: number, colour: string, open?: boolean): void
  text(words: string, x: number, y: number, style: TextStyle): void
  clipRect(x: number, y: number, w: number, h: number, inside: () => void): void
  clipPath(d: string, at: Place, inside: () => void): void
  /** A drawing made once and stamped many times: `name` must tell all that it depends on. */
  stamp(name: string, halfPx: number, x: number, y: number, draw: (to: Surface) => void): void
}
