import { wipe } from './offline/index.ts'

/**
 * Somebody else is signed in now, or in another cellar: all that was read belongs to the one before, in this page's
 * memory and in the device's store. What waits to be sent stays, under its author. The page is read anew.
 */
export async function beginAnew(path = '/'): Promise<void> {
  await wipe().catch(() => {})
  window.location.replace(path)
}
