/** Movements before they are written. */
import type { MovementRow, ReceiptRow } from '../../db/queries/movements.ts'
import type { Outside } from '../cellar/ledger/movement.ts'
import type { LedgerFault } from '../cellar/ledger/replay.ts'
import type { Temporal } from '../time.ts'

export type DraftEnd = { readonly vesselId: string; readonly lotId: string } | { readonly outside: Outside }

export interface Draft {
  readonly id?: string
  readonly at: Temporal.Instant
  readonly from: DraftEnd
  readonly to: DraftEnd
  readonly volumeMl: number
  readonly plannedMl?: number
  readonly measuredBeforeMl?: number
  readonly measuredAfterMl?: number
  readonly cause: string
  readonly people: readonly string[]
  /** What came through the door: stored with its first movement. */
  readonly receipt?: ReceiptRow
  /** The same, where it is stored already. */
  readonly receiptId?: string
  readonly taskKey?: string
  readonly reversesId?: string
  readonly reason?: string
}

/** Why the ledger cannot take an entry. */
export interface Refusal {
  readonly why: LedgerFault | 'would-not-stand'
  readonly vesselId: string
  readonly hadMl: number
  readonly askedMl: number
  readonly hadLotId?: string
  /** The stored entry that could not have happened then. */
  readonly standing?: MovementRow
}

export const vesselIn = (end: DraftEnd): string | undefined => ('vesselId' in end ? end.vesselId : undefined)

export function rowOf(
  d: Draft,
  more: { readonly id: string; readonly entry: number; readonly opId: string; readonly writtenAt: Temporal.Instant },
): MovementRow {
  return {
    id: more.id,
    entry: more.entry,
    // The database keeps milliseconds; what is compared with it must too.
    at: d.at.round({ smallestUnit: 'millisecond', roundingMode: 'trunc' }),
    writtenAt: more.writtenAt,
    fromKind: 'outside' in d.from ? d.from.outside : 'vessel',
    fromVesselId: 'outside' in d.from ? null : d.from.vesselId,
    fromLotId: 'outside' in d.from ? null : d.from.lotId,
    toKind: 'outside' in d.to ? d.to.outside : 'vessel',
    toVesselId: 'outside' in d.to ? null : d.to.vesselId,
    toLotId: 'outside' in d.to ? null : d.to.lotId,
    volumeMl: d.volumeMl,
    plannedMl: d.plannedMl ?? null,
    measuredBeforeMl: d.measuredBeforeMl ?? null,
    measuredAfterMl: d.measuredAfterMl ?? null,
    cause: d.cause,
    people: [...d.people],
    receiptId: d.receipt?.id ?? d.receiptId ?? null,
    taskKey: d.taskKey ?? null,
    opId: more.opId,
    reversesId: d.reversesId ?? null,
    reason: d.reason ?? null,
  }
}

/** The entry that takes another one back: places swapped, the same litres at the same moment. */
export function reversalOf(row: MovementRow, reason: string): Draft {
  const end = (kind: MovementRow['fromKind'], vesselId: string | null, lotId: string | null): DraftEnd =>
    kind === 'vessel' ? { vesselId: vesselId ?? '', lotId: lotId ?? '' } : { outside: kind }
  return {
    at: row.at,
    from: end(row.toKind, row.toVesselId, row.toLotId),
    to: end(row.fromKind, row.fromVesselId, row.fromLotId),
    volumeMl: row.volumeMl,
    cause: row.cause,
    people: row.people,
    ...(row.taskKey === null ? {} : { taskKey: row.taskKey }),
    reversesId: row.id,
    reason,
  }
}
