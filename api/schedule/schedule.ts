import { bookedBy } from './booked.ts'
import { bookOf } from './bookings.ts'
import type { Draft, Ground } from './build.ts'
import { brokenRules } from './check.ts'
import { breakCycles } from './cycles.ts'
import type { Slot } from './desk.ts'
import { evolve } from './evolve.ts'
import { notEarlier, notLater, type Scene } from './explain.ts'
import { improve } from './improve.ts'
import { levelsOf } from './levels.ts'
import { type Model, modelOf } from './model.ts'
import { factOf, type Labels, networkOf, newLabels } from './network.ts'
import { holdsOf } from './score.ts'
import type { BrokenRule, Placed, Plan, Scheduler } from './types.ts'

/** Places every task and says what could not be met. Same problem, same plan. */
export const schedule: Scheduler = (problem) => {
  const model = modelOf(problem)
  const { off, cycles } = breakCycles(model)
  const network = networkOf(model, off)
  const base = boundsOf(model, network)
  const target = model.tasks.map((_, i) => targetOf(model, i))
  const hard = boundsOf(model, networkOf(model, off, true), true)
  const want = wantedFrom(model, network, base, target)
  const ground: Ground = { model, network, base, target, want, lawfulHi: hard.hi }
  const { draft, schedulesUsed } =
    (cycles.length === 0 ? bareDraft(model) : undefined) ?? improve(ground, problem.seed, problem.moves)
  return planOf(ground, draft, cycles, hard, schedulesUsed)
}

/** Above this the search over the bare core would need too much memory: its longest ways are a square table. */
const MOST_BARE_TASKS = 600

/** A problem of lags and shared units only is searched in its core. Undefined when it has more, or no plan was found. */
function bareDraft(model: Model): { readonly draft: Draft; readonly schedulesUsed: number } | undefined {
  if (model.tasks.length > MOST_BARE_TASKS) return undefined
  const levels = levelsOf(model)
  const found = levels && evolve(levels, model.problem.seed, model.problem.moves)
  if (!found) return undefined
  const slots = model.tasks.map((task, i): Slot => {
    const startMin = found.starts[i]!
    const units = task.uses.map((use) => [model.poolUnits.get(use.pool)![0]!])
    return {
      startMin,
      endMin: startMin + task.elapsedMin,
      crewEndMin: startMin,
      crew: { people: [], pieces: [] },
      units,
    }
  })
  return { draft: { slots, berths: [] }, schedulesUsed: found.schedulesUsed }
}

function boundsOf(model: Model, network: ReturnType<typeof networkOf>, hardOnly = false): Labels {
  const labels = newLabels(model.tasks.length)
  const all = [...model.tasks.keys()]
  network.reset(labels, hardOnly)
  network.spreadLo(labels, all)
  network.spreadHi(labels, all)
  return labels
}

/** Where a task asks to start by itself: where people know it, or the minute it should be near. */
function targetOf(model: Model, i: number): number | undefined {
  const { key, bias } = model.tasks[i]!
  if (factOf(model, i) !== undefined) return undefined
  return model.previous.get(key)?.startMin ?? (typeof bias === 'object' ? bias.nearMin : undefined)
}

/** Carries the wishes through the links, so that what must come shortly before a wished start waits for it. */
function wantedFrom(
  model: Model,
  network: ReturnType<typeof networkOf>,
  base: Labels,
  target: readonly (number | undefined)[],
): Float64Array {
  const labels: Labels = { ...base, lo: base.lo.slice(), loBy: base.loBy.slice() }
  target.forEach((t, i) => {
    if (t !== undefined) labels.lo[i] = Math.max(labels.lo[i]!, Math.min(t, base.hi[i]!))
  })
  network.spreadLo(labels, [...model.tasks.keys()])
  return labels.lo
}

function planOf(
  ground: Ground,
  draft: Draft,
  cycles: readonly (readonly number[])[],
  hard: Labels,
  schedulesUsed: number,
): Plan {
  const { model } = ground
  const id = (u: number) => model.units[u]!.unit.id
  const holds = holdsOf(model, draft)
  const scene = sceneOf(ground, draft)
  const placed = draft.slots.map((slot, i): Placed => {
    const latest = Math.max(Math.min(hard.hi[i]!, model.problem.horizonMin), hard.lo[i]!)
    return {
      key: model.tasks[i]!.key,
      startMin: slot.startMin,
      endMin: slot.endMin,
      crewEndMin: slot.crewEndMin,
      people: slot.crew.people.map((p) => model.people[p]!.person.id),
      units: slot.units.flat().map(id),
      earliestMin: hard.lo[i]!,
      latestMin: latest,
      slackMin: Math.max(0, latest - slot.startMin),
      notEarlier: notEarlier(scene, i),
      notLater: notLater(scene, i),
    }
  })
  const uses = draft.slots.map((s) => s.units)
  const circles = cycles.map(
    (tasks): BrokenRule => ({ rule: 'cycle', strength: 'hard', tasks: tasks.map((i) => model.tasks[i]!.key) }),
  )
  return { placed, holds, broken: [...circles, ...brokenRules({ model, placed, uses, holds }, draft)], schedulesUsed }
}

/** The finished plan's bookings, laid out anew for the causes. */
function sceneOf(ground: Ground, draft: Draft): Scene {
  const { model, target } = ground
  const people = model.people.map(bookOf)
  const units = model.units.map(bookOf)
  for (const { of, at, booking } of bookedBy(model, draft)) (of === 'person' ? people : units)[at]!.add(booking)
  return { model, slots: draft.slots, desk: { people, units }, target, holdUnits: holdUnitsOf(model, draft) }
}

/** Units of the holds that begin with each task. */
export function holdUnitsOf(model: Model, draft: Draft): readonly (readonly number[])[] {
  const holdUnits: number[][] = model.tasks.map(() => [])
  model.holds.forEach(({ from }, h) => {
    holdUnits[from]!.push(...(draft.berths[h]?.units ?? []))
  })
  return holdUnits
}
