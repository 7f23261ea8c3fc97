/** Which stay in a vessel a task begins, and whether another vessel would do for it. */
import { type Model, msOfWire, PHASE_WORDS, type PhaseItem } from './model.ts'
import type { MoveRules } from './rules.ts'
import type { Verdict } from './verdict.ts'

/** The protocol's name for each stay, by what the wine does there. */
const HOLDS: Readonly<Record<PhaseItem['kind'], string>> = {
  fruit: 'must',
  macerate: 'must',
  settle: 'settle',
  ferment: 'ferment',
  malolactic: 'store',
  lees: 'store',
  store: 'store',
  cold: 'cold',
}

export interface Berth {
  readonly phase: PhaseItem
  readonly hold: string
}

/** The stay that the task fills: the first phase in its target vessel from its start on. */
export function berthOf(model: Model, ix: number): Berth | undefined {
  const task = model.plan.tasks[ix]
  const [target] = task?.toVessels ?? []
  if (!task || target === undefined || task.lotId === null) return undefined
  const startMs = model.startMs[ix] as number
  const phase = model.phases.find((p) => p.lotCode === task.lotCode && p.vessels.includes(target) && p.endMs > startMs)
  return phase && { phase, hold: HOLDS[phase.kind] }
}

/** Vessels in the order of the rows, those that could hold the lot. */
export const vesselsFor = (model: Model, berth: Berth): readonly string[] =>
  model.plan.vessels
    .filter((v) => v.volumeL * berth.phase.vessels.length >= berth.phase.volumeL * 0.5)
    .map((v) => v.code)

/** Too small, booked, or another lot in it while the wine would be there. */
export function judgeVessel(rules: MoveRules, berth: Berth, code: string, startMs: number): Verdict | undefined {
  const { model, words } = rules
  const vessel = model.plan.vessels.find((v) => v.code === code)
  if (!vessel) return { level: 'no', words: `There is no vessel ${code}.` }
  if (vessel.volumeL < berth.phase.volumeL)
    return {
      level: 'no',
      words: `${code} holds ${vessel.volumeL.toLocaleString('en')} L, the lot is ${Math.round(berth.phase.volumeL).toLocaleString('en')} L.`,
    }
  const endMs = Math.max(berth.phase.endMs, startMs)
  const other = model.phases.find(
    (p) => p.lotCode !== berth.phase.lotCode && p.vessels.includes(code) && p.startMs < endMs && p.endMs > startMs,
  )
  if (other)
    return {
      level: 'no',
      words: `${other.lotCode} is ${PHASE_WORDS[other.kind]} in ${code} until ${words.moment(other.endMs)}.`,
      nearestMs: other.endMs,
    }
  const booking = vessel.bookings.find((b) => msOfWire(b.fromAt) < endMs && msOfWire(b.toAt) > startMs)
  if (booking)
    return { level: 'no', words: `${code} is booked until ${words.moment(msOfWire(booking.toAt))}: ${booking.why}.` }
  return undefined
}
