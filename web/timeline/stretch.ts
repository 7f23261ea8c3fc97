/** A length in the hand: the end of a band is taken and drawn out, where how long the wine stays is a choice. */
import { type Length, lengthAt, lengthNow } from './lengths.ts'
import { type Model, msOfWire, PHASE_WORDS } from './model.ts'
import type { MoveRules } from './rules.ts'
import { HOUR_MS } from './scale.ts'
import { judgeSeat, type Verdict } from './verdict.ts'
import type { Words } from './words.ts'

export interface Stretch {
  readonly length: Length
  readonly value: number
  readonly endMs: number
  readonly verdict: Verdict
}

export const endOf = ({ phase, unitMs }: Length, value: number): number => phase.startMs + value * unitMs

export const beginStretch = (rules: MoveRules, length: Length): Stretch =>
  stretched(rules, length, lengthNow(length), length.phase.endMs)

/** @param atMs the moment under the hand; the length goes by its own steps */
export function stretchTo(rules: MoveRules, { length }: Stretch, atMs: number): Stretch {
  const value = lengthAt(length, atMs)
  return stretched(rules, length, value, endOf(length, value))
}

export const isStretched = ({ length, value }: Stretch): boolean => value !== lengthNow(length)

/** `Skin contact of L03: 18 h, until Tue 16 Mar 08:00. Allowed from 1 to 72 h.` */
export const stretchWords = ({ length, value, endMs, verdict }: Stretch, words: Words): string =>
  `${length.name} of ${length.phase.lotCode}: ${value} ${length.unit}, until ${words.moment(endMs)}. ${verdict.words}`

function stretched(rules: MoveRules, length: Length, value: number, endMs: number): Stretch {
  return { length, value, endMs, verdict: judgeLength(rules, length, endMs) }
}

/** May the wine stay until then? Its vessel and whoever ends its stay answer; the rest of the plan the server weighs. */
function judgeLength(rules: MoveRules, length: Length, endMs: number): Verdict {
  const { model, words } = rules
  const { phase, least, most, unit } = length
  if (endMs < rules.nowMs) return { level: 'no', words: `Too short: that is past.`, nearestMs: rules.nowMs }
  for (const code of phase.vessels) {
    const other = model.phases.find(
      (p) => p.lotCode !== phase.lotCode && p.vessels.includes(code) && p.startMs < endMs && p.endMs > phase.startMs,
    )
    if (other)
      return {
        level: 'no',
        words: `Too long: ${other.lotCode} is ${PHASE_WORDS[other.kind]} in ${code} from ${words.moment(other.startMs)}.`,
        nearestMs: other.startMs,
      }
    const booking = model.plan.vessels
      .find((v) => v.code === code)
      ?.bookings.find((b) => msOfWire(b.fromAt) < endMs && msOfWire(b.toAt) > phase.startMs)
    if (booking)
      return {
        level: 'no',
        words: `Too long: ${code} is booked from ${words.moment(msOfWire(booking.fromAt))}: ${booking.why}.`,
      }
  }
  const closing = closingTask(model, length)
  const seat = closing === undefined ? undefined : judgeSeat(rules, { ix: closing, startMs: endMs, andFollows: true })
  return seat ?? { level: 'fine', words: `Allowed from ${least} to ${most} ${unit}.` }
}

/** The work that ends the stay: the lot's first open task within an hour of the band's end. */
function closingTask(model: Model, { phase }: Length): number | undefined {
  const at = model.plan.tasks.findIndex(
    (t, ix) =>
      t.lotCode === phase.lotCode &&
      model.state[ix] !== 3 &&
      t.fromVessels.some((code) => phase.vessels.includes(code)) &&
      Math.abs((model.startMs[ix] as number) - phase.endMs) <= HOUR_MS,
  )
  return at < 0 ? undefined : at
}
