import type { Draft } from './build.ts'
import type { Group } from './bundles.ts'
import { isByDay } from './claims.ts'
import type { Scene } from './explain.ts'
import type { Surveyed } from './ground.ts'
import type { Ledger, Taken } from './ledger.ts'
import type { House, Previous } from './model.ts'
import { causesOf, holdUnitsOf, placedAt } from './tell.ts'
import type { BrokenRule, Placed, PlacedHold } from './types.ts'

/** Lots tied to each other: their network, their part of the plan, and what it books. */
export interface Bundle extends Taken {
  readonly groups: readonly Group[]
  surveyed: Surveyed
  readonly draft: Draft
  readonly own: readonly BrokenRule[]
  /** Its tasks with their causes; empty until somebody asks for them. */
  readonly told: Placed[]
  readonly holds: readonly PlacedHold[]
  /** Taken over from what people know, not placed here. */
  readonly adopted: boolean
  /** From this minute on the mere passing of time changes it. */
  readonly stirsMin: number
  /** First start of open work that a person has fixed: later than that it is told how late it is. */
  readonly fixedMin: number
}

export const isTold = (bundle: Bundle): boolean => bundle.told.length === bundle.draft.slots.length

export const sceneOf = ({ surveyed, draft }: Bundle, ledger: Ledger): Scene => ({
  model: surveyed.ground.model,
  slots: draft.slots,
  desk: ledger,
  target: surveyed.ground.target,
  holdUnits: holdUnitsOf(surveyed.ground.model, draft),
})

/** Its tasks with causes, looked up when they are first asked for. */
export function toldOf(bundle: Bundle, ledger: Ledger): readonly Placed[] {
  if (isTold(bundle)) return bundle.told
  const scene = sceneOf(bundle, ledger)
  const { ground, hard } = bundle.surveyed
  for (let i = 0; i < bundle.draft.slots.length; i++)
    bundle.told[i] = placedAt(ground.model, hard, bundle.draft, i, causesOf(scene, i))
  return bundle.told
}

/** Keys of tasks that use units without booking them, as they take no time: no booking leads to them. */
export const unbookedOf = ({ surveyed, draft, holds }: Bundle): readonly string[] => {
  const { model } = surveyed.ground
  const tasks = draft.slots.flatMap((s, i) =>
    s.endMin <= s.startMin && s.units.some((u) => u.length > 0) ? [model.tasks[i]!.key] : [],
  )
  const begun = holds.flatMap((h, k) => (h.toMin <= h.fromMin ? [model.tasks[model.holds[k]!.from]!.key] : []))
  return [...tasks, ...begun]
}

const NO_CAUSES = { notEarlier: [], notLater: [] }

/** The same without causes. */
export function bareOf({ surveyed, draft }: Bundle): readonly Placed[] {
  return draft.slots.map((_, i) => placedAt(surveyed.ground.model, surveyed.hard, draft, i, NO_CAUSES))
}

/** What people would know of these lots if the plan were given out now. */
export function knownOf(bundles: readonly Bundle[], house: House): readonly Previous[] {
  return bundles.flatMap((b) => {
    const { model } = b.surveyed.ground
    return [
      ...b.draft.slots.map((slot, i) => ({
        key: model.tasks[i]!.key,
        startMin: slot.startMin,
        people: slot.crew.people.map((p) => house.people[p]!.person.id),
        units: slot.units.flat().map((u) => house.units[u]!.unit.id),
        ...(isByDay(model.tasks[i]!) ? { byDay: true as const } : {}),
      })),
      ...b.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
    ]
  })
}

/** Open work must not lie in the past, and what runs over its time takes longer with every minute. */
export function stirsMin({ ground }: Surveyed, draft: Draft): number {
  return draft.slots.reduce((first, slot, i) => {
    const task = ground.model.tasks[i]!
    if (task.done) return first
    if (task.started) {
      const dragsOn =
        slot.crew.people.length > 0 && task.crewMin > 0 && (task.interruptible || task.crewMin >= task.elapsedMin)
      return Math.min(first, slot.endMin, dragsOn ? slot.crewEndMin : Infinity)
    }
    return task.pin?.startMin === undefined ? Math.min(first, slot.startMin) : first
  }, Infinity)
}

export const fixedMin = ({ ground }: Surveyed, draft: Draft): number =>
  draft.slots.reduce((first, slot, i) => {
    const { done, started, pin } = ground.model.tasks[i]!
    return done || started || pin?.startMin === undefined ? first : Math.min(first, slot.startMin)
  }, Infinity)

/** One set's part of a draft made for several. */
export function partOf(
  own: Surveyed,
  taskOf: ReadonlyMap<string, number>,
  holdOf: ReadonlyMap<string, number>,
  draft: Draft,
): Draft {
  const { model } = own.ground
  return {
    slots: model.tasks.map((t) => draft.slots[taskOf.get(t.key)!]!),
    berths: model.holds.map((h) => draft.berths[holdOf.get(h.hold.key)!]),
  }
}

/**
 * Time goes on: open work whose earliest start was now or sooner has a later one, and so has what hangs on it.
 *
 * @returns places of tasks whose earliest start is another now
 */
export function passTime(bundle: Bundle, nowMin: number): readonly number[] {
  const { hard, hardNetwork, ground } = bundle.surveyed
  const { problem } = ground.model
  if (problem.nowMin !== nowMin)
    bundle.surveyed = {
      ...bundle.surveyed,
      ground: { ...ground, model: { ...ground.model, problem: { ...problem, nowMin } } },
    }
  const late: number[] = []
  const before = hard.lo.slice()
  for (let i = 0; i < hard.lo.length; i++)
    if (!hard.settled[i] && hard.lo[i]! < nowMin) {
      hard.lo[i] = nowMin
      hard.loBy[i] = -1
      late.push(i)
    }
  if (late.length === 0) return late
  hardNetwork.spreadLo(hard, late)
  return [...before.keys()].filter((i) => before[i] !== hard.lo[i])
}
