/** At the latest after this, busy or not. */
const MOST_MS = 2_000

/**
 * What may wait until the page stands and answers: runs once, when the browser has nothing better to do.
 *
 * @returns calls it off
 */
export function atRest(run: () => void): () => void {
  if (typeof requestIdleCallback === 'function') {
    const wait = requestIdleCallback(run, { timeout: MOST_MS })
    return () => cancelIdleCallback(wait)
  }
  const wait = setTimeout(run, 300)
  return () => clearTimeout(wait)
}

/**
 * What need not be in the first picture: runs once, with the frame after the coming one.
 *
 * @returns calls it off
 */
export function afterFrame(run: () => void): () => void {
  let frame = requestAnimationFrame(() => {
    frame = requestAnimationFrame(run)
  })
  return () => cancelAnimationFrame(frame)
}
