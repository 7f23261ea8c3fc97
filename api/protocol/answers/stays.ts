import { minutesFrom, Temporal } from '../../time.ts'
import type { Phase } from '../types.ts'
import type { AskPlan } from './ask.ts'

/** A lot in a vessel, from the first juice that runs in until the wine is racked out. */
export interface Stay {
  readonly vessel: string
  readonly lotCode: string
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

const WINE: ReadonlySet<Phase['kind']> = new Set(['settle', 'ferment', 'lees', 'cold', 'store'])

/**
 * Who is where, and how long. A band of a plan ends when its work is done; the vessel is free once the wine has gone on,
 * and taken from the moment the press runs into it.
 */
export function staysOf(plan: AskPlan): readonly Stay[] {
  const presses = plan.tasks.filter((t) => t.step === 'press' && t.state !== 'cancelled' && t.state !== 'skipped')
  return plan.phases.flatMap((p) => {
    const later = plan.phases
      .filter((q) => q.lotId === p.lotId && WINE.has(q.kind) && q !== p && minutesFrom(p.endAt, q.startAt) >= 0)
      .map((q) => q.startAt)
      .reduce<Temporal.Instant | undefined>((a, b) => (!a || Temporal.Instant.compare(b, a) < 0 ? b : a), undefined)
    return p.vessels.map((vessel) => {
      const poured =
        p.kind === 'settle' ? presses.filter((t) => t.lotId === p.lotId && t.toVessels.includes(vessel)) : []
      return {
        vessel,
        lotCode: p.lotCode,
        fromAt: poured.reduce((a, t) => (Temporal.Instant.compare(t.startAt, a) < 0 ? t.startAt : a), p.startAt),
        toAt: later ?? p.endAt,
      }
    })
  })
}
