import type { Family, TaskState } from '../protocol/types.ts'
import type { Temporal } from '../time.ts'

/** One task as the feed needs it. Built from the stored row, so stamps and sequence never depend on when the feed is read. */
export interface FeedTask {
  /** Made once from cellar and key; the same in every feed the task stands in. */
  readonly uid: string
  /** Rises with time, place, people, dose or state; starts at 0. */
  readonly sequence: number
  readonly changedAt: Temporal.Instant
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  /** Planned to the day: it stands in the calendar as a whole day, without hour or names. */
  readonly wholeDays: boolean
  readonly state: TaskState
  readonly forecast: boolean
  readonly family: Family
  readonly step: string
  /** Short words for the action in the reader's language. */
  readonly action: string
  readonly lotCode: string
  readonly lotName: string
  /** `T09 > T01`, or a vessel, or empty. */
  readonly where: string
  readonly people: readonly string[]
  readonly detail: string
  readonly doses: readonly string[]
  readonly caution: string
  readonly reason: string
  readonly path: string
  /** Tasks that wait for this one. */
  readonly next: readonly { readonly uid: string; readonly gapMin: number }[]
}

export const FEED_LANGUAGES = ['en', 'es', 'fr', 'pt', 'it', 'de'] as const
export type FeedLanguage = (typeof FEED_LANGUAGES)[number]

export interface FeedSettings {
  readonly name: string
  readonly cellarName: string
  /** IANA name; the times are written in it. */
  readonly zone: string
  readonly language: FeedLanguage
  readonly showDoses: boolean
  /** Where a task opens; needs a sign-in, never carries the feed's token. */
  readonly baseUrl: string
  /** Minutes before the start, by family; absent: no alarm. */
  readonly alarmMin: Partial<Record<Family, number>>
  /** The span the feed covers; the zone's rules are written for it. */
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

/** How long a cancelled task is still shown, crossed out, before it leaves the feed. */
export const CANCELLED_SHOWN_DAYS = 14
/** The feed's window around now: later than the past that clients keep, short enough to stay small. */
export const DAYS_BACK = 60
export const MONTHS_ON = 18
