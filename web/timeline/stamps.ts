/** What is drawn again and again: stamps as pictures of their own, outlines as paths. */

/** Stamps made once and shared by canvases that show the same. */
export interface StampShelf {
  readonly stamps: Map<number | string, Stamp>
  readonly paths: Map<string, Path2D>
  /** Boards to draw stamps on, free for the next: to set one up costs more than most stamps. */
  readonly boards: OffscreenCanvas[]
  /** Device pixels for each CSS pixel the stamps were cut for. */
  ratio: number
  forget(): void
}

export function stampShelf(): StampShelf {
  const stamps = new Map<number | string, Stamp>()
  return {
    stamps,
    paths: new Map(),
    boards: [],
    ratio: 1,
    forget: () => {
      for (const stamp of stamps.values()) stamp.picture.close()
      stamps.clear()
    },
  }
}

export interface Stamp {
  readonly picture: ImageBitmap
  readonly sidePx: number
}

const MOST_STAMPS = 2000

/**
 * The picture of that name, drawn when first asked for. Each is a bitmap of its own: copying from a canvas that may
 * still change costs a snapshot every time.
 *
 * @param draw on a board of device pixels
 */
export function shelved(
  shelf: StampShelf,
  name: number | string,
  widthPx: number,
  heightPx: number,
  draw: (pen: OffscreenCanvasRenderingContext2D) => void,
): Stamp {
  const known = shelf.stamps.get(name)
  if (known) return known
  const w = Math.max(1, Math.ceil(widthPx * shelf.ratio))
  const h = Math.max(1, Math.ceil(heightPx * shelf.ratio))
  const board = shelf.boards.pop() ?? new OffscreenCanvas(w, h)
  // A new size also takes everything with it that was set before.
  board.width = w
  board.height = h
  const pen = board.getContext('2d')
  if (!pen) throw new Error('this browser gave no offscreen canvas')
  draw(pen)
  const stamp: Stamp = { picture: board.transferToImageBitmap(), sidePx: w / shelf.ratio }
  shelf.boards.push(board)
  if (shelf.stamps.size > MOST_STAMPS) shelf.forget()
  shelf.stamps.set(name, stamp)
  return stamp
}

/** Pegs and ends of bands come back in every frame; the odd widths between do not, so the shelf is emptied when full. */
export function pathOf(paths: Map<string, Path2D>, d: string): Path2D {
  const known = paths.get(d)
  if (known) return known
  if (paths.size > 500) paths.clear()
  const made = new Path2D(d)
  paths.set(d, made)
  return made
}
