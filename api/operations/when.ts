import { Temporal } from '../time.ts'
import type { OperationBody } from './body.ts'

export interface Told {
  /** When it happened, by our clock. */
  readonly at: Temporal.Instant
}

/** The phone's moment on our clock: its offset at the last contact taken off; never later than now. */
export function whenOf(op: OperationBody, nowAt: Temporal.Instant): Told {
  const at = Temporal.Instant.from(op.occurredAt).epochMilliseconds - op.clockOffsetMs
  return { at: Temporal.Instant.fromEpochMilliseconds(Math.min(at, nowAt.epochMilliseconds)) }
}
