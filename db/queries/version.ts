import { no, ok, type Result } from '../../api/result.ts'

/**
 * Whether a save over a version took place. The version stands in the WHERE of the update itself: reading it first and
 * writing later loses updates on a server, where two do so at once.
 */
export async function overVersion(
  updated: PromiseLike<readonly { readonly version: number }[]>,
  isThere: () => PromiseLike<readonly unknown[]>,
): Promise<Result<number, 'stale' | 'unknown'>> {
  const [row] = await updated
  if (row) return ok(row.version)
  return no((await isThere()).length > 0 ? 'stale' : 'unknown')
}
