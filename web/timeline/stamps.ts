/** What is drawn again and again: stamps as pictures of their own, outlines as paths. */

/** Stamps made once and shared by canvases that show the same. */
export interface StampShelf {
  readonly stamps: Map<number | string, Stamp>
  readonly paths: Map<string, Path2D>
  /** Device pixels for each CSS pixel the stamps were cut for. */
  ratio: number
  forget(): void
}

export function stampShelf(): StampShelf {
  const stamps = new Map<number | string, Stamp>()
  return {
    stamps,
    paths: new Map(),
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

/** Pegs and ends of bands come back in every frame; the odd widths between do not, so the shelf is emptied when full. */
export function pathOf(paths: Map<string, Path2D>, d: string): Path2D {
  const known = paths.get(d)
  if (known) return known
  if (paths.size > 500) paths.clear()
  const made = new Path2D(d)
  paths.set(d, made)
  return made
}
