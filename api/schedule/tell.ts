import { bookedBy, claimedBy } from './booked.ts'
import { bookOf } from './bookings.ts'
import type { Draft } from './build.ts'
import { brokenRules } from './check.ts'
import { claimBookOf, isByDay } from './claims.ts'
import { bookFixed } from './desk.ts'
import { notEarlier, notLater, type Scene } from './explain.ts'
import type { Surveyed } from './ground.ts'
import type { Model } from './model.ts'
import type { Labels } from './network.ts'
import { finishedOf, holdsOf } from './score.ts'
import type { BrokenRule, Cause, Placed, Plan } from './types.ts'

/** A draft with its causes and what it breaks. */
export function planOf(surveyed: Surveyed, draft: Draft, schedulesUsed: number): Plan {
  const { ground, cycles, hard } = surveyed
  const { model } = ground
  const scene = sceneOf(surveyed, draft)
  const placed = draft.slots.map((_, i) => placedAt(model, hard, draft, i, causesOf(scene, i)))
  const broken = [...circlesOf(model, cycles), ...brokenRules(finishedOf(model, draft), draft)]
  return { placed, holds: holdsOf(model, draft), broken, schedulesUsed }
}

export interface Causes {
  readonly notEarlier: readonly Cause[]
  readonly notLater: readonly Cause[]
}

export const causesOf = (scene: Scene, i: number): Causes => ({
  notEarlier: notEarlier(scene, i),
  notLater: notLater(scene, i),
})

/** A task as it is told: its place, and how far hard limits would let it slip. */
export function placedAt(model: Model, hard: Labels, draft: Draft, i: number, causes: Causes): Placed {
  const slot = draft.slots[i]!
  const latest = Math.max(Math.min(hard.hi[i]!, model.problem.horizonMin), hard.lo[i]!)
  return {
    key: model.tasks[i]!.key,
    startMin: slot.startMin,
    endMin: slot.endMin,
    crewEndMin: slot.crewEndMin,
    people: slot.crew.people.map((p) => model.people[p]!.person.id),
    units: slot.units.flat().map((u) => model.units[u]!.unit.id),
    ...(isByDay(model.tasks[i]!) ? { byDay: true } : {}),
    earliestMin: hard.lo[i]!,
    latestMin: latest,
    slackMin: Math.max(0, latest - slot.startMin),
    ...causes,
  }
}

export const circlesOf = (model: Model, cycles: Surveyed['cycles']): readonly BrokenRule[] =>
  cycles.map((tasks) => ({ rule: 'cycle', strength: 'hard', tasks: tasks.map((i) => model.tasks[i]!.key) }))

/** The finished plan's bookings, laid out anew for the causes. */
function sceneOf({ ground }: Surveyed, draft: Draft): Scene {
  const { model, target } = ground
  const people = model.people.map(() => bookOf())
  const units = model.units.map(() => bookOf())
  bookFixed(model, units)
  for (const { of, at, booking } of bookedBy(model, draft)) (of === 'person' ? people : units)[at]!.add(booking)
  const claims = claimBookOf()
  claimedBy(model, draft).forEach(claims.add)
  return { model, slots: draft.slots, desk: { people, units, claims }, target, holdUnits: holdUnitsOf(model, draft) }
}

/** Units of the holds that begin with each task. */
export function holdUnitsOf(model: Model, draft: Draft): readonly (readonly number[])[] {
  const holdUnits: number[][] = model.tasks.map(() => [])
  model.holds.forEach(({ from }, h) => {
    holdUnits[from]!.push(...(draft.berths[h]?.units ?? []))
  })
  return holdUnits
}
