/** What is drawn at which row height and how many days on screen. */

export type Level = 'pixels' | 'ticks' | 'pegs' | 'full' | 'bars'

/** Under 4 px a row is confetti if drawn as bars; below 3 days work has room for its true length. */
export function levelOf(rowPx: number, days: number): Level {
  if (rowPx < 4) return 'pixels'
  if (rowPx < 12) return 'ticks'
  if (rowPx < 20 || days > 31) return 'pegs'
  return days < 3 ? 'bars' : 'full'
}

export interface RowShape {
  /** From the row's top. */
  readonly pegY: number
  readonly pegPx: number
  readonly bandY: number
  readonly bandPx: number
  readonly laneY: number
  readonly lanePx: number
}

const NAMED_FROM_PX = 27

/** Pegs above, band below, as high as the row allows. */
export function rowShape(rowPx: number, level: Level): RowShape {
  if (level === 'ticks' || level === 'pixels')
    return { pegY: rowPx * 0.3, pegPx: 3, bandY: rowPx - 3, bandPx: 2, laneY: 0, lanePx: rowPx }
  if (rowPx < 20) return { pegY: 5, pegPx: 8, bandY: rowPx - 6, bandPx: 4, laneY: 0, lanePx: rowPx }
  // From here on a name has room inside the band.
  const least = rowPx < NAMED_FROM_PX ? 0 : 12
  const bandPx = Math.max(least, Math.min(18, Math.round(rowPx * 0.34)))
  const under = Math.min(7, Math.round(rowPx * 0.14))
  const pegPx = Math.min(14, Math.max(10, rowPx - bandPx - under - 4))
  const bandY = rowPx - under - bandPx
  return { pegY: bandY - pegPx / 2 - Math.min(4, rowPx * 0.08), pegPx, bandY, bandPx, laneY: 5, lanePx: 20 }
}
