import { adopted } from './adopt.ts'
import { type Booked, bookedBy } from './booked.ts'
import type { Draft } from './build.ts'
import { awayKeys, bundled, type Group, groupsOf, joinedGroups } from './bundles.ts'
import { ownBroken } from './check.ts'
import { firstAlone } from './desk.ts'
import type { Scene } from './explain.ts'
import { type Surveyed, survey } from './ground.ts'
import { improve } from './improve.ts'
import { ledgerOf } from './ledger.ts'
import { houseOf, modelOf, type Previous } from './model.ts'
import { nearby } from './nearby.ts'
import { factOf } from './network.ts'
import { best, type Piecework, rivalsOf } from './repair.ts'
import { finishedOf, holdsOf } from './score.ts'
import { causesOf, circlesOf, holdUnitsOf, placedAt } from './tell.ts'
import { type Bench, type Trial, trialOf } from './trial.ts'
import type { BrokenRule, Placed, PlacedHold, Plan, Problem, Watch } from './types.ts'
import type { Side, SideOf } from './unitrules.ts'

/** What has changed since the session last planned. */
export interface Change {
  readonly nowMin?: number
  readonly horizonMin?: number
  /** Lots whose work is other than before, whole; one without tasks is gone. */
  readonly groups?: readonly Group[]
}

export interface Changed {
  /** Tasks that are new, have moved, or have other bounds or causes in the lots that were placed anew. */
  readonly placed: readonly Placed[]
  readonly holds: readonly PlacedHold[]
  /** Keys that are no more. */
  readonly gone: readonly string[]
  readonly schedulesUsed: number
}

/**
 * A plan that is kept ready to be changed. Each lot has its own network and its own part of the plan; all share one
 * ledger of bookings. A change frees the lots it touches, places them among the rest, and frees others only where
 * something would break. What a session answers is a function of the problem it was opened with and of its changes.
 */
export interface Session {
  readonly change: (change: Change) => Changed
  /**
   * Unmoved tasks of other lots whose causes have become others. Kept apart from `change`, since dates do not wait for
   * reasons; `plan` looks them up by itself.
   */
  readonly retell: () => readonly Placed[]
  readonly plan: () => Plan
  readonly broken: () => readonly BrokenRule[]
}

interface Bundle {
  readonly groups: readonly Group[]
  readonly surveyed: Surveyed
  readonly draft: Draft
  readonly booked: readonly Booked[]
  readonly own: readonly BrokenRule[]
  readonly placed: Placed[]
  readonly holds: readonly PlacedHold[]
  /** From this minute on the mere passing of time changes it. */
  readonly stirsMin: number
}

const DAY_MIN = 1440
/** Lots freed at a time because their work stands in the way. */
const MOST_RIVALS = 3
/** A round of second looks may place so many times as many tasks as there are. */
const ROUND_EFFORT = 0.6
/** Rounds of second looks a schedule, should each still better something. */
const MOST_ROUNDS = 2

export function openSession(problem: Problem, watch?: Watch): Session {
  const house = houseOf(problem)
  const ledger = ledgerOf(house)
  let now: Pick<Problem, 'nowMin' | 'horizonMin'> = { nowMin: problem.nowMin, horizonMin: problem.horizonMin }
  let schedulesUsed = 0
  const groups = new Map<string, Group>()
  const bundleOf = new Map<string, Bundle>()
  const groupOf = new Map<string, string>()
  const sides = new Map<string, Side>()
  /** Bookings that came or went since causes were last looked up. */
  const moved: Booked[] = []
  const holdSides = new Map<string, Side>()
  const sideOf: SideOf = (b) => (b.kind === 'fixed' ? FIXED : (b.kind === 'task' ? sides : holdSides).get(b.key)!)
  const known = new Map((problem.previous ?? []).map((p) => [p.key, p]))
  const bench: Bench = { house, ledger, sideOf }

  const problemOf = (set: readonly Group[], previous: Problem['previous']): Problem => ({
    ...problem,
    ...now,
    ...joinedGroups(set),
    previous,
    moves: 1,
  })

  const enlist = (g: Group) => {
    groups.set(g.group, g)
    const fact = new Map<string, boolean>()
    for (const t of g.tasks) {
      groupOf.set(t.key, g.group)
      fact.set(t.key, t.done !== undefined || t.started !== undefined)
      sides.set(t.key, { keys: [t.key], fact: fact.get(t.key)! })
    }
    for (const h of g.holds)
      holdSides.set(h.key, {
        keys: [h.from.task, h.to.task],
        fact: (fact.get(h.from.task) ?? false) && (fact.get(h.to.task) ?? false),
      })
  }

  const delist = (g: Group) => {
    groups.delete(g.group)
    for (const t of g.tasks) {
      groupOf.delete(t.key)
      sides.delete(t.key)
    }
    for (const h of g.holds) holdSides.delete(h.key)
  }

  /** Makes a draft for some lots, tied or not, part of the plan. */
  const commit = (set: readonly Group[], joint: Surveyed, draft: Draft): readonly Bundle[] => {
    const sets = bundled(set, (key) => groupOf.get(key))
    const { model } = joint.ground
    const knownHere = model.previous
    const made = sets.map((own): Bundle => {
      const surveyed =
        sets.length === 1 ? joint : survey(modelOf(problemOf(own, knownIn(own, knownHere)), house), ledger)
      const part = sets.length === 1 ? draft : partOf(surveyed, model.taskOf, holdIndex(joint), draft)
      const booked = bookedBy(surveyed.ground.model, part)
      ledger.enter(booked)
      const bundle: Bundle = {
        groups: own,
        surveyed,
        draft: { slots: part.slots, berths: part.berths },
        booked,
        own: [
          ...circlesOf(surveyed.ground.model, surveyed.cycles),
          ...ownBroken(finishedOf(surveyed.ground.model, part)),
        ],
        placed: [],
        holds: holdsOf(surveyed.ground.model, part),
        stirsMin: stirsMin(surveyed, part),
      }
      for (const g of own) bundleOf.set(g.group, bundle)
      return bundle
    })
    return made
  }

  const sceneOf = ({ surveyed, draft }: Bundle): Scene => ({
    model: surveyed.ground.model,
    slots: draft.slots,
    desk: ledger,
    target: surveyed.ground.target,
    holdUnits: holdUnitsOf(surveyed.ground.model, draft),
  })

  const tellAll = (bundle: Bundle) => {
    const scene = sceneOf(bundle)
    const { ground, hard } = bundle.surveyed
    ground.model.tasks.forEach((_, i) => {
      bundle.placed[i] = placedAt(ground.model, hard, bundle.draft, i, causesOf(scene, i))
    })
  }

  const bundlesNow = (): readonly Bundle[] => [...new Set([...groups.keys()].map((g) => bundleOf.get(g)!))]

  const knownOf = (bundles: readonly Bundle[]): readonly Previous[] =>
    bundles.flatMap((b) => {
      const { model } = b.surveyed.ground
      return [
        ...b.draft.slots.map((slot, i) => ({
          key: model.tasks[i]!.key,
          startMin: slot.startMin,
          people: slot.crew.people.map((p) => house.people[p]!.person.id),
          units: slot.units.flat().map((u) => house.units[u]!.unit.id),
        })),
        ...b.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
      ]
    })

  const brokenOf = (bundles: ReadonlySet<Bundle>): readonly BrokenRule[] => {
    const own = (key: string) => bundles.has(bundleOf.get(groupOf.get(key) ?? '')!)
    return [
      ...[...bundles].flatMap((b) => b.own),
      ...ledger.broken(sideOf, now.nowMin).filter((r) => r.tasks.some(own)),
    ]
  }

  const work: Piecework = {
    trial: (set, known, turnsOf) => {
      schedulesUsed++
      return trialOf(bench, problemOf(set, known), turnsOf)
    },
    rivals: (trial) => {
      const keys = rivalsOf(bench, trial)
      const found = new Map<Bundle, string[]>()
      for (const key of keys) {
        const task = holdSides.get(key)?.keys[0] ?? key
        const bundle = bundleOf.get(groupOf.get(task) ?? '')
        if (!bundle || trial.surveyed.ground.model.taskOf.has(task)) continue
        const { model } = bundle.surveyed.ground
        const i = model.taskOf.get(task)
        if (i === undefined || factOf(model, i) !== undefined) continue
        found.set(bundle, [...(found.get(bundle) ?? []), task])
      }
      return [...found].slice(0, MOST_RIVALS).map(([bundle, tasks]) => ({
        tasks,
        groups: bundle.groups,
        known: knownOf([bundle]),
        broken: brokenOf(new Set([bundle])),
        take: () => ledger.strike(bundle.booked),
        giveBack: () => ledger.enter(bundle.booked),
        drop: () => {
          for (const g of bundle.groups) bundleOf.delete(g.group)
        },
      }))
    },
  }

  /**
   * Places these lots anew among the rest.
   *
   * @param known where people know their work to be
   * @param before what they broke where they stood
   */
  const placeAnew = (
    set: readonly Group[],
    known: readonly Previous[],
    before: readonly BrokenRule[],
  ): readonly Bundle[] => {
    const { groups: all, trial } = best(work, set, known, before)
    return commit(all, trial.surveyed, trial.draft)
  }

  // Opening: what people know is taken over, the rest is placed.
  for (const g of groupsOf(problem)) enlist(g)
  if (problem.previous === undefined || problem.previous.length === 0) openAnew()
  else openKnown()
  for (const b of bundlesNow()) tellAll(b)

  function openAnew() {
    const all = [...groups.values()]
    const joint = survey(modelOf({ ...problem, ...joinedGroups(all) }, house))
    const found = improve(joint.ground, problem.seed, problem.moves, watch)
    schedulesUsed += found.schedulesUsed
    commit(all, joint, found.draft)
    mend()
  }

  function openKnown() {
    const lost: Group[] = []
    for (const set of bundled([...groups.values()], (key) => groupOf.get(key))) {
      const surveyed = survey(modelOf(problemOf(set, knownIn(set, known)), house), ledger)
      const draft = adopted(surveyed.ground.model)
      if (draft) commit(set, surveyed, draft)
      else lost.push(...set)
    }
    if (lost.length > 0) {
      placeAnew(lost, knownIn(lost, known), [])
    }
    mend()
  }

  /**
   * Lots whose hard limits do not hold are looked at once more, and move only where that breaks less. What people know
   * to be broken is left alone, so that planning again with nothing changed moves nothing.
   */
  function mend() {
    for (let round = 0; round < MOST_ROUNDS * problem.moves; round++) if (!mendOnce()) return
  }

  function mendOnce(): boolean {
    let better = false
    let left = ROUND_EFFORT * sides.size + 500
    for (const b of bundlesNow()) {
      if (left <= 0) break
      if (bundleOf.get(b.groups[0]!.group) !== b) continue
      const before = brokenOf(new Set([b]))
      if (!before.some(couldBeBetter)) continue
      ledger.strike(b.booked)
      const found = best(work, b.groups, knownOf([b]), before, true)
      left -= found.effort
      if (found.better) {
        commit(found.groups, found.trial.surveyed, found.trial.draft)
        better = true
      } else ledger.enter(b.booked)
    }
    return better
  }

  /** Work whose hours nobody keeps for days on is not helped by another look, nor is what people know of. */
  function couldBeBetter(rule: BrokenRule): boolean {
    if (rule.strength !== 'hard' || rule.rule === 'cycle') return false
    if (rule.tasks.every((key) => known.get(key)?.broken?.includes(rule.rule))) return false
    if (rule.rule !== 'outside-window') return true
    const { ground, draft } = bundleAt(rule.tasks[0]!)
    const i = ground.model.taskOf.get(rule.tasks[0]!)!
    const at = draft.slots[i]!.startMin
    return firstAlone(ground.model, i, at - DAY_MIN) <= at + DAY_MIN
  }

  function bundleAt(key: string) {
    const bundle = bundleOf.get(groupOf.get(key)!)!
    return { ground: bundle.surveyed.ground, draft: bundle.draft }
  }

  const change: Session['change'] = (asked) => {
    const usedBefore = schedulesUsed
    now = { nowMin: asked.nowMin ?? now.nowMin, horizonMin: asked.horizonMin ?? now.horizonMin }
    const gone = new Set<string>()
    const freed = new Set<Bundle>()
    for (const g of asked.groups ?? []) {
      const bundle = bundleOf.get(g.group)
      if (bundle) freed.add(bundle)
    }
    for (const b of bundlesNow()) if (b.stirsMin < now.nowMin) freed.add(b)
    const before = brokenOf(freed)
    const knownFreed = knownOf([...freed])
    const old = new Map<string, Placed>()
    const spans: Booked[] = []
    const free = (b: Bundle) => {
      ledger.strike(b.booked)
      spans.push(...b.booked)
      for (const p of b.placed) old.set(p.key, p)
      for (const g of b.groups) bundleOf.delete(g.group)
    }
    for (const b of freed) free(b)
    const names = new Set([...freed].flatMap((b) => b.groups.map((g) => g.group)))
    for (const g of asked.groups ?? []) {
      const was = groups.get(g.group)
      names.add(g.group)
      for (const t of was?.tasks ?? []) gone.add(t.key)
      if (was) delist(was)
    }
    for (const g of asked.groups ?? []) {
      if (g.tasks.length > 0) enlist(g)
      else names.delete(g.group)
      for (const t of g.tasks) gone.delete(t.key)
    }
    // Lots that the new links tie to these come along.
    const also: Bundle[] = []
    for (const name of names)
      for (const key of awayKeys(groups.get(name)!, (k) => groupOf.get(k))) {
        const bundle = bundleOf.get(groupOf.get(key) ?? '')
        if (!bundle) continue
        also.push(bundle)
        free(bundle)
        for (const g of bundle.groups) names.add(g.group)
      }
    const set = [...groups.values()].filter((g) => names.has(g.group))
    const wasKnown = [...knownFreed, ...knownOf(also)]
    const standing = new Set(bundlesStanding())
    const made = set.length > 0 ? placeAnew(set, wasKnown, before) : []
    for (const b of standing) {
      if (bundleOf.get(b.groups[0]!.group) === b) continue
      spans.push(...b.booked)
      for (const p of b.placed) old.set(p.key, p)
    }
    for (const b of made) {
      spans.push(...b.booked)
      tellAll(b)
    }
    const placed = made.flatMap((b) => b.placed).filter((p) => !samePlaced(old.get(p.key), p))
    moved.push(...spans)
    placed.push(...lateBounds(new Set(made)))
    return {
      placed,
      holds: made.flatMap((b) => b.holds),
      gone: [...gone],
      schedulesUsed: schedulesUsed - usedBefore,
    }
  }

  function bundlesStanding(): readonly Bundle[] {
    return [...new Set([...bundleOf.values()])]
  }

  /** Looks up the causes of unmoved work again where they may be others; the tasks that are told otherwise. */
  function retell(): readonly Placed[] {
    const told: Placed[] = []
    const scenes = new Map<Bundle, Scene>()
    const stale = new Set([...nearby(ledger, moved)].map((key) => (sides.has(key) ? key : holdSides.get(key)?.keys[0])))
    moved.length = 0
    for (const key of stale) {
      const bundle = bundleOf.get(groupOf.get(key ?? '') ?? '')
      const i = bundle?.surveyed.ground.model.taskOf.get(key ?? '')
      if (!bundle || i === undefined) continue
      const scene = scenes.get(bundle) ?? sceneOf(bundle)
      scenes.set(bundle, scene)
      const was = bundle.placed[i]!
      const causes = causesOf(scene, i)
      if (sameCauses(was.notEarlier, causes.notEarlier) && sameCauses(was.notLater, causes.notLater)) continue
      const one = { ...was, ...causes }
      bundle.placed[i] = one
      told.push(one)
    }
    return told
  }

  /** Time goes on: open work whose earliest start was now or sooner has a later one, and so has what hangs on it. */
  function lateBounds(made: ReadonlySet<Bundle>): readonly Placed[] {
    const told: Placed[] = []
    for (const bundle of bundlesNow()) {
      if (made.has(bundle)) continue
      const { hard, hardNetwork, ground } = bundle.surveyed
      const late: number[] = []
      for (let i = 0; i < hard.lo.length; i++)
        if (!hard.settled[i] && hard.lo[i]! < now.nowMin) {
          hard.lo[i] = now.nowMin
          hard.loBy[i] = -1
          late.push(i)
        }
      if (late.length === 0) continue
      hardNetwork.spreadLo(hard, late)
      const { model } = ground
      for (let i = 0; i < hard.lo.length; i++) {
        const was = bundle.placed[i]!
        if (was.earliestMin === hard.lo[i]) continue
        const causes = { notEarlier: was.notEarlier, notLater: was.notLater }
        const one = placedAt(model, hard, bundle.draft, i, causes)
        bundle.placed[i] = one
        told.push(one)
      }
    }
    return told
  }

  return {
    change,
    retell,
    broken: () => [...bundlesNow().flatMap((b) => b.own), ...ledger.broken(sideOf, now.nowMin)],
    plan: () => {
      retell()
      const bundles = bundlesNow()
      const byKey = new Map(bundles.flatMap((b) => b.placed.map((p) => [p.key, p] as const)))
      const holdsByKey = new Map(bundles.flatMap((b) => b.holds.map((h) => [h.key, h] as const)))
      const order = [...groups.values()]
      return {
        placed: order.flatMap((g) => g.tasks.map((t) => byKey.get(t.key)!)),
        holds: order.flatMap((g) => g.holds.map((h) => holdsByKey.get(h.key)!)),
        broken: [...bundles.flatMap((b) => b.own), ...ledger.broken(sideOf, now.nowMin)],
        schedulesUsed,
      }
    },
  }
}

const FIXED: Side = { keys: [], fact: true }

/** What people know of the work of these lots. */
const knownIn = (set: readonly Group[], known: ReadonlyMap<string, Previous>): readonly Previous[] =>
  set.flatMap((g) => [...g.tasks, ...g.holds].flatMap((x) => known.get(x.key) ?? []))

const holdIndex = (joint: Surveyed): ReadonlyMap<string, number> =>
  new Map(joint.ground.model.holds.map((h, k) => [h.hold.key, k]))

/** One set's part of a draft made for several. */
function partOf(
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

/** Open work must not lie in the past, and what runs over its time takes longer with every minute. */
function stirsMin({ ground }: Surveyed, draft: Draft): number {
  return draft.slots.reduce((first, slot, i) => {
    const task = ground.model.tasks[i]!
    if (task.done) return first
    if (task.started) return Math.min(first, Math.max(slot.endMin, slot.crewEndMin))
    return task.pin?.startMin === undefined ? Math.min(first, slot.startMin) : first
  }, Infinity)
}

function sameCauses(a: Placed['notEarlier'], b: Placed['notEarlier']): boolean {
  return (
    a.length === b.length &&
    a.every((c, k) => {
      const d = b[k]!
      return c.kind === d.kind && c.ref === d.ref && c.by === d.by && c.lagMin === d.lagMin
    })
  )
}

function samePlaced(a: Placed | undefined, b: Placed): boolean {
  return (
    a !== undefined &&
    a.startMin === b.startMin &&
    a.endMin === b.endMin &&
    a.crewEndMin === b.crewEndMin &&
    a.earliestMin === b.earliestMin &&
    a.latestMin === b.latestMin &&
    a.people.join() === b.people.join() &&
    a.units.join() === b.units.join() &&
    sameCauses(a.notEarlier, b.notEarlier) &&
    sameCauses(a.notLater, b.notLater)
  )
}

export type { Group, Trial }
