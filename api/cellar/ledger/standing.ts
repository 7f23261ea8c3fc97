/** An entry that another one may take back. */
export interface Reversible {
  readonly id: string
  readonly reverses?: string | undefined
}

/**
 * The entries that stand: an entry that was taken back never happened, nor did the taking back. Both stay in the book;
 * neither moves wine, so that what was in a vessel follows the litres and not the slip of the pen. (Wine truly moved
 * and moved back is two movements, not a correction.)
 */
export function standing<T extends Reversible>(entries: readonly T[]): T[] {
  const reversed = new Set(entries.flatMap((e) => e.reverses ?? []))
  return entries.filter((e) => e.reverses === undefined && !reversed.has(e.id))
}
