import type { PhaseWire, TaskWire } from '../../api/wire.ts'

export interface Span {
  readonly key: string
  readonly lot: string
  readonly from: number
  readonly to: number
}

/**
 * Looks at what is stored alone: two lots' work for one person, on one press, or two lots' wine in one vessel, at the
 * same time.
 */
export function doubleBooked(plan: StoredPlan): string[] {
  // A pin stands where a person put it even where a rule breaks; the plan says so, and that is no secret clash.
  const told = new Set(plan.broken.flatMap((b) => b.taskKeys))
  const open = plan.tasks.filter((t) => ['planned', 'due'].includes(t.state) && !told.has(t.key))
  const min = (text: string) => Date.parse(text) / 60_000
  const whole = (t: TaskWire): Span => ({ key: t.key, lot: t.lotCode, from: min(t.startAt), to: min(t.endAt) })
  // What runs by itself after its people have left, or pauses over a night, is not theirs all the time: left out here.
  const isHands = (t: TaskWire) => t.crewMin > 0 && min(t.endAt) - min(t.startAt) <= t.crewMin
  // A phase in several vessels holds each for a part of it, which is not stored.
  const alone = plan.phases.filter((p) => p.vessels.length === 1)
  const phases = alone.map((p) => ({ ...p, lot: p.lotCode, from: min(p.startAt), to: min(p.endAt) }))
  const vessels = new Set(phases.flatMap((p) => p.vessels.map((v) => v.code)))
  const people = new Set(open.flatMap((t) => t.people))
  return [
    ...PRESSES.flatMap((m) => clashes(open.filter((t) => t.machines.includes(m)).map(whole))),
    ...[...people].flatMap((id) => clashes(open.filter((t) => isHands(t) && t.people.includes(id)).map(whole))),
    ...[...vessels].flatMap((code) => clashes(phases.filter((p) => p.vessels.some((v) => v.code === code)))),
  ]
}

const PRESSES = ['PA', 'PB']

/** What `GET /api/plan` gives, as far as it is looked at. */
export interface StoredPlan {
  readonly tasks: readonly TaskWire[]
  readonly phases: readonly PhaseWire[]
  readonly broken: readonly { readonly taskKeys: readonly string[] }[]
}

/** Pairs of spans of different lots that overlap. */
export const clashes = (spans: readonly Span[]): string[] =>
  spans.flatMap((a, i) =>
    spans.slice(i + 1).flatMap((b) => (a.from < b.to && b.from < a.to && a.lot !== b.lot ? [`${a.key} ${b.key}`] : [])),
  )
