/** What stands in jsonb columns: plain JSON, moments and days as ISO text. */

import type { DoseWas, TaskChange } from '../api/protocol/beside.ts'
import type { Fruit, ReadingKind } from '../api/protocol/facts.ts'
import type { BrokenWords, ConflictFound, Dose, Grain, Wait, Watch } from '../api/protocol/types.ts'

export interface BookingJson {
  readonly fromAt: string
  readonly toAt: string
  readonly why: string
}

export interface AbsenceJson {
  /** Not in what was written before absences could be changed. */
  readonly id?: string
  readonly fromAt: string
  readonly toAt: string
  readonly reason: string
}

export interface ShiftJson {
  readonly weekdays: number[]
  readonly startMin: number
  readonly endMin: number
  readonly fromOn?: string
  readonly untilOn?: string
}

export interface SignedJson {
  readonly conflict: string
  readonly reason: string
  readonly personId: string
  readonly at: string
}

/** The part of a planned task that is only ever read as a whole. */
export interface TaskRestJson {
  readonly detail: string
  /** Absent: to the minute, and on rows stored before days were planned. */
  readonly grain?: Grain
  readonly crewMin: number
  readonly crew: number
  readonly streams?: true
  readonly site?: string
  readonly fromVessels: readonly string[]
  readonly toVessels: readonly string[]
  readonly machines: readonly string[]
  /** Litres it is planned for; absent in plans stored before it was told. */
  readonly volumeL?: number
  readonly earliestAt: string
  readonly latestAt: string
  readonly slackMin: number
  readonly forecast: boolean
  readonly spread?: { readonly earliestAt: string; readonly latestAt: string }
  readonly pinned: boolean
  readonly doses: readonly Dose[]
  readonly records: readonly ReadingKind[]
  readonly caution: string
  readonly materials: readonly string[]
  readonly why: string
  readonly whyNotLater: string
  readonly prev: readonly string[]
  /** Absent on rows stored before links told how long they ask for. */
  readonly waits?: readonly Wait[]
  readonly next: readonly string[]
  readonly conflicts: readonly string[]
  readonly broken: readonly BrokenWords[]
  /** Why it moved last. */
  readonly change?: TaskChange
  /** Its doses as somebody last saw them, where they are others now. */
  readonly doseWas?: DoseWas
}

export interface ForecastJson {
  readonly lotId: string
  readonly dryAt?: { readonly earliestAt: string; readonly likelyAt: string; readonly latestAt: string }
  /** Absent in plans stored before it was told. */
  readonly watch?: readonly Watch[]
  readonly points: readonly {
    readonly at: string
    readonly sugarGPerL: number
    readonly lowGPerL: number
    readonly highGPerL: number
    readonly tempC: number
  }[]
}

export interface PlanStateJson {
  readonly broken: readonly BrokenWords[]
  readonly conflicts: readonly ConflictFound[]
  readonly forecasts: readonly ForecastJson[]
}

/** One vessel of a stock count, whole millilitres. */
export interface CountLineJson {
  readonly vesselId: string
  readonly lotId: string | null
  readonly bookMl: number
  readonly countedMl: number
  readonly toleranceMl: number
  readonly movementId?: string
  readonly cause?: string
  readonly reason?: string
}

/** What a check of the ledger found wrong. */
export interface LedgerFaultJson {
  readonly rule:
    | 'below-zero'
    | 'above-limit'
    | 'balance'
    | 'shares'
    | 'addition'
    | 'stored-state'
    | 'levels'
    | 'entry'
    | 'dip'
    | 'cause'
  readonly words: string
  readonly movementId?: string
  readonly vesselId?: string
  /** By which entry, and in which words, somebody wrote the difference down. Then it is no fault. */
  readonly accepted?: { readonly movementId: string; readonly words: string }
}

/** One thing that adopting a trial changed: what it was, and what it was set to. */
export type TrialUndoJson =
  | { readonly kind: 'lot'; readonly id: string; readonly before: LotSetJson; readonly after: LotSetJson }
  | { readonly kind: 'lot-added'; readonly id: string }
  | { readonly kind: 'choices'; readonly id: string; readonly beforeVersion: number; readonly afterVersion: number }
  | { readonly kind: 'machine'; readonly id: string; readonly booking: BookingJson }
  | {
      readonly kind: 'person'
      readonly id: string
      readonly absence: { readonly fromAt: string; readonly toAt: string; readonly reason: string }
    }
  | { readonly kind: 'stay'; readonly id: string; readonly on: string; readonly endMin: number }
  | { readonly kind: 'pin'; readonly id: string; readonly taskKey: string }

/** What a trial may set of a lot beside its answers. */
export interface LotSetJson {
  readonly pickOn: string
  readonly fruit: Fruit
  readonly vesselPins: Readonly<Record<string, readonly string[]>>
}

/** A move of announced work as a re-plan wants it. */
export type { ProposedMove as ProposedMoveJson } from '../api/protocol/announced.ts'

/** What the server said of an operation that a phone sent. */
export interface OperationAnswerJson {
  /** stored; stored, but somebody should look; refused and kept as offered. */
  readonly state: 'stored' | 'check' | 'refused'
  readonly words: string
  /** To branch on: `second-tick`, `old-plan`, `already-undone`, or the type of a problem. */
  readonly reason?: string
  readonly errors?: readonly { readonly pointer: string; readonly detail: string }[]
  /** What stands instead, where somebody was faster: theirs beside mine. */
  readonly theirs?: { readonly words: string; readonly personId?: string; readonly at?: string }
}
