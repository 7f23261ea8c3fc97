/** When people work, on local days. */
import { type Days, isoOf, wallMs } from './days.ts'
import { msOfWire } from './model.ts'
import type { Span } from './rows.ts'
import type { PersonWire } from './wire.ts'

/** The last rule that fits a day decides. */
export function shiftOn(
  person: PersonWire,
  days: Days,
  index: number,
): readonly [startMin: number, endMin: number] | undefined {
  const on = isoOf(days, index)
  if ((person.fromOn && on < person.fromOn) || (person.untilOn && on > person.untilOn)) return undefined
  const weekday = days.weekday[index] as number
  const rule = person.shifts.findLast(
    (s) =>
      (!s.fromOn || on >= s.fromOn) &&
      (!s.untilOn || on <= s.untilOn) &&
      (s.weekdays.length === 0 || s.weekdays.includes(weekday)),
  )
  return rule && rule.weekdays.length > 0 && rule.endMin > rule.startMin ? [rule.startMin, rule.endMin] : undefined
}

/** A shift as a span of instants; past midnight it runs into the next local day. */
export function shiftSpan(person: PersonWire, days: Days, index: number): Span | undefined {
  const shift = shiftOn(person, days, index)
  if (!shift) return undefined
  const [startMin, endMin] = shift
  const toMs =
    endMin > 1440
      ? wallMs(days, index + 1, endMin - 1440)
      : endMin === 1440
        ? (days.startMs[index + 1] as number)
        : wallMs(days, index, endMin)
  return { fromMs: wallMs(days, index, startMin), toMs, why: 'shift' }
}

export function minutesOn(person: PersonWire, days: Days, index: number): number {
  const span = shiftSpan(person, days, index)
  if (!span) return 0
  const away = person.absences.reduce((sum, a) => {
    const fromMs = Math.max(span.fromMs, msOfWire(a.fromAt))
    const toMs = Math.min(span.toMs, msOfWire(a.toAt))
    return sum + Math.max(0, toMs - fromMs)
  }, 0)
  return Math.max(0, span.toMs - span.fromMs - away) / 60_000
}
