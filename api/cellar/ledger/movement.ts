/**
 * The ledger's one kind of entry. Volumes are whole millilitres, so that litres in = litres out + stock holds exactly;
 * a measured difference is an entry of its own (`gain` or `loss`), never slack.
 */

/** Where wine comes from or goes to that is no vessel. */
export const OUTSIDES = [
  'fruit',
  'bought',
  'gain',
  'loss',
  'lees',
  'sample',
  'sale',
  'bottled',
  'distillation',
] as const
export type Outside = (typeof OUTSIDES)[number]

export type Place = { readonly vesselId: string } | { readonly outside: Outside }

/** What came through the door once: the root of every share. */
export interface Receipt {
  readonly id: string
  readonly variety: string
  readonly vintage: string
  readonly block: string
  readonly origin: string
}

export interface Movement {
  readonly id: string
  /** Order of entry; decides between two movements of one moment. */
  readonly entry: number
  /** When it happened, which may be long before it was written down; milliseconds since 1970. */
  readonly atMs: number
  readonly from: Place
  readonly to: Place
  /** The lot the wine belongs to where it arrives (in a vessel) or leaves from. */
  readonly lotId: string
  /** The lot it belongs to where it comes from, where that is known. */
  readonly fromLotId?: string
  readonly volumeMl: number
  /** From `fruit` or `bought` only. */
  readonly receipt?: Receipt
  /** Why: rack, press, fill, top, blend, evaporation, spill, ... in the trade's words. */
  readonly cause: string
  readonly people: readonly string[]
  readonly taskKey?: string
  /** This entry takes that one back; places swapped, same volume, reason given. */
  readonly reverses?: string
  readonly reason?: string
}

/** A product put into one vessel: an addition, never a movement of wine. */
export interface LedgerAddition {
  readonly id: string
  readonly entry: number
  readonly atMs: number
  readonly vesselId: string
  readonly product: string
  readonly amountG: number
  readonly batchNo: string
  readonly personId: string
  readonly taskKey?: string
  readonly reverses?: string
  readonly reason?: string
}

export const inVessel = (vesselId: string): Place => ({ vesselId })
export const outside = (kind: Outside): Place => ({ outside: kind })
export const vesselOf = (place: Place): string | undefined => ('vesselId' in place ? place.vesselId : undefined)
export const outsideOf = (place: Place): Outside | undefined => ('outside' in place ? place.outside : undefined)

/** Litres as typed, to the ledger's whole millilitres. */
export function millilitres(volumeL: number): number {
  if (!Number.isFinite(volumeL)) throw new RangeError(`volumeL must be finite, got ${volumeL}`)
  return Math.round(volumeL * 1000)
}

/** Entries in the order things happened; entries of one moment in the order they were written. */
export const inOrder = <T extends { readonly atMs: number; readonly entry: number }>(entries: readonly T[]): T[] =>
  [...entries].sort((a, b) => a.atMs - b.atMs || a.entry - b.entry)
