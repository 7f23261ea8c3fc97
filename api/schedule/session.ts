import { adopted } from './adopt.ts'
import { firstAlone } from './alone.ts'
import { type Booked, bookedBy, claimedBy } from './booked.ts'
import type { Draft } from './build.ts'
import {
  type Bundle,
  bareOf,
  fixedMin,
  isTold,
  knownOf,
  partOf,
  passTime,
  sceneOf,
  stirsMin,
  toldOf,
  unbookedOf,
} from './bundle.ts'
import { awayKeys, bundled, type Group, groupsOf, joinedGroups } from './bundles.ts'
import { ownBroken } from './check.ts'
import { isByDay } from './claims.ts'
import { LOOK_BACK_DAYS } from './dayreasons.ts'
import type { Scene } from './explain.ts'
import { canFollow, knownBy, knownIn, sameKnown, sameLots } from './following.ts'
import { type Surveyed, survey } from './ground.ts'
import { improve } from './improve.ts'
import { ledgerOf } from './ledger.ts'
import { houseOf, modelOf, type Previous } from './model.ts'
import { dailyNear, nearby } from './nearby.ts'
import { factOf } from './network.ts'
import { best, breaksLess, type Piecework, rivalsOf } from './repair.ts'
import { rosterOf } from './roster.ts'
import { same } from './same.ts'
import { finishedOf, holdsOf } from './score.ts'
import { causesOf, circlesOf, placedAt } from './tell.ts'
import { type Bench, trialOf } from './trial.ts'
import type { BrokenRule, Placed, PlacedHold, Plan, Problem, Watch } from './types.ts'

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
   * Goes over to another problem as if it had been opened with it, and looks only at the lots that are other than
   * before or are known to stand elsewhere.
   *
   * @returns false where too much is other for that: it must be opened anew, and this session is as it was
   */
  readonly follow: (next: Problem) => boolean
  /**
   * Unmoved tasks of other lots whose causes have become others. Kept apart from `change`, since dates do not wait for
   * reasons; `plan` looks them up by itself.
   */
  readonly retell: () => readonly Placed[]
  /** @param bare leaves the causes out, which take as long as all the rest */
  readonly plan: (bare?: boolean) => Plan
  readonly broken: () => readonly BrokenRule[]
}

const DAY_MIN = 1440
/** Causes within this of now name it. */
const NEAR_NOW_MIN = 60
/** The same of work that is planned to the day: it is asked why no day before would do. */
const NEAR_NOW_DAY_MIN = (LOOK_BACK_DAYS + 2) * DAY_MIN
/** Lots freed at a time because their work stands in the way. */
const MOST_RIVALS = 3
/** A round of second looks may place so many times as many tasks as there are. */
const ROUND_EFFORT = 0.6
/** Rounds of second looks a schedule, should each still better something. */
const MOST_ROUNDS = 2
/** Larger cellars are mended lot by lot alone: placing all at once takes as long as a first plan. */
const MOST_TOGETHER = 5_000

/** @param drafts made at most, each better than the one before, of a plan that nobody knows yet; what is mended then is apart */
export function openSession(given: Problem, watch?: Watch, drafts = given.moves): Session {
  let problem = given
  const house = houseOf(problem)
  const ledger = ledgerOf(house)
  const roster = rosterOf()
  let schedulesUsed = 0
  /** Bookings that came or went since causes were last looked up. */
  const moved: Booked[] = []
  /** Days on which claims came or went since. */
  const stirred = new Set<number>()
  let known = knownBy(problem)
  const bench: Bench = { house, ledger, sideOf: roster.sideOf }

  const problemOf = (set: readonly Group[], previous: Problem['previous']): Problem => ({
    ...problem,
    ...joinedGroups(set),
    previous,
    moves: 1,
  })

  /** Makes a draft for some lots, tied or not, part of the plan. */
  const commit = (set: readonly Group[], joint: Surveyed, draft: Draft, isAdopted = false): readonly Bundle[] => {
    const sets = bundled(set, roster.groupOf)
    const { model } = joint.ground
    const holdOf = new Map(model.holds.map((h, k) => [h.hold.key, k]))
    return sets.map((own): Bundle => {
      const surveyed =
        sets.length === 1 ? joint : survey(modelOf(problemOf(own, knownIn(own, model.previous)), house), ledger)
      const part = sets.length === 1 ? draft : partOf(surveyed, model.taskOf, holdOf, draft)
      const booked = bookedBy(surveyed.ground.model, part)
      const claims = claimedBy(surveyed.ground.model, part)
      ledger.enter({ booked, claims })
      const bundle: Bundle = {
        groups: own,
        surveyed,
        draft: { slots: part.slots, berths: part.berths },
        booked,
        claims,
        own: [
          ...circlesOf(surveyed.ground.model, surveyed.cycles),
          ...ownBroken(finishedOf(surveyed.ground.model, part)),
        ],
        told: [],
        holds: holdsOf(surveyed.ground.model, part),
        adopted: isAdopted,
        stirsMin: stirsMin(surveyed, part),
        fixedMin: fixedMin(surveyed, part),
      }
      roster.seat(bundle)
      return bundle
    })
  }

  const brokenOf = (bundles: ReadonlySet<Bundle>): readonly BrokenRule[] => [
    ...[...bundles].flatMap((b) => b.own),
    ...ledger
      .broken(roster.sideOf, problem.nowMin)
      .filter((r) => r.tasks.some((key) => bundles.has(roster.bundleOf(key)!))),
  ]

  const broken: Session['broken'] = () => [
    ...roster.bundles().flatMap((b) => b.own),
    ...ledger.broken(roster.sideOf, problem.nowMin),
  ]

  const work: Piecework = {
    trial: (set, before, turnsOf, firm) => {
      schedulesUsed++
      return trialOf(bench, problemOf(set, before), turnsOf, firm)
    },
    rivals: (trial, firm) => {
      const found = new Map<Bundle, string[]>()
      for (const key of rivalsOf(bench, trial, firm)) {
        const task = roster.taskOf(key) ?? key
        const bundle = roster.bundleOf(task)
        if (!bundle || trial.surveyed.ground.model.taskOf.has(task)) continue
        const { model } = bundle.surveyed.ground
        const i = model.taskOf.get(task)
        if (i === undefined || factOf(model, i) !== undefined) continue
        found.set(bundle, [...(found.get(bundle) ?? []), task])
      }
      return [...found].slice(0, MOST_RIVALS).map(([bundle, tasks]) => ({
        tasks,
        groups: bundle.groups,
        known: knownOf([bundle], house),
        broken: brokenOf(new Set([bundle])),
        take: () => ledger.strike(bundle),
        giveBack: () => ledger.enter(bundle),
        drop: () => roster.unseat(bundle),
      }))
    },
  }

  /**
   * Places these lots anew among the rest.
   *
   * @param wasKnown where people know their work to be
   * @param before what they broke where they stood
   */
  const placeAnew = (
    set: readonly Group[],
    wasKnown: readonly Previous[],
    before: readonly BrokenRule[],
  ): readonly Bundle[] => {
    const { groups: all, trial } = best(work, set, wasKnown, before)
    return commit(all, trial.surveyed, trial.draft)
  }

  // Opening: what people know is taken over, the rest is placed.
  for (const g of groupsOf(problem)) roster.enlist(g)
  if (problem.previous === undefined || problem.previous.length === 0) openAnew()
  else takeOver(bundled([...roster.groups.values()], roster.groupOf))

  function openAnew() {
    const all = [...roster.groups.values()]
    const joint = survey(modelOf({ ...problem, ...joinedGroups(all) }, house))
    const found = improve(joint.ground, problem.seed, drafts, watch)
    schedulesUsed += found.schedulesUsed
    commit(all, joint, found.draft)
    mend()
    mend(true)
  }

  /** Lots stand where people know them; those that cannot are placed among the rest. */
  function takeOver(sets: readonly (readonly Group[])[]) {
    const lost: Group[] = []
    for (const set of sets) {
      const surveyed = survey(modelOf(problemOf(set, knownIn(set, known)), house), ledger)
      const draft = adopted(surveyed.ground.model)
      if (draft) commit(set, surveyed, draft, true)
      else lost.push(...set)
    }
    if (lost.length > 0) placeAnew(lost, knownIn(lost, known), [])
    mend()
    placeTogether()
    mend(true)
  }

  /**
   * What lot by lot could not be mended and nobody knows of yet may need several others to give way a little: all that
   * hold a vessel are placed at once, in any vessel, near where people know them. That stands where it breaks less.
   */
  function placeTogether() {
    if (problem.moves === 0 || roster.size() > MOST_TOGETHER) return
    const before = broken()
    if (!before.some(couldBeBetter)) return
    const standing = roster.bundles()
    const free = (b: Bundle) => {
      ledger.strike(b)
      roster.unseat(b)
    }
    const wet = standing.flatMap((b) => (b.groups.some((g) => g.holds.length > 0) ? b.groups : []))
    for (const b of standing) if (b.groups.some((g) => wet.includes(g))) free(b)
    placeAnew(
      wet,
      wet.flatMap((g) => g.tasks.flatMap((t) => known.get(t.key) ?? [])),
      [],
    )
    mend()
    if (breaksLess(broken(), before)) return
    for (const b of roster.bundles()) free(b)
    for (const b of standing) {
      ledger.enter(b)
      roster.seat(b)
    }
  }

  /**
   * Lots whose hard limits do not hold are looked at once more, and move only where that breaks less. What people know
   * to be broken is left alone, so that planning again with nothing changed moves nothing.
   *
   * @param firm by the second way: hands are short rather than limits passed, and lighter work leaves its people
   */
  function mend(firm = false) {
    for (let round = 0; round < MOST_ROUNDS * problem.moves; round++) if (!mendOnce(firm)) return
  }

  function mendOnce(firm: boolean): boolean {
    let better = false
    let left = ROUND_EFFORT * roster.size() + 500
    for (const b of roster.bundles()) {
      if (left <= 0) break
      if (roster.bundleIn(b.groups[0]!.group) !== b) continue
      const before = brokenOf(new Set([b]))
      if (!before.some(couldBeBetter)) continue
      ledger.strike(b)
      const found = best(work, b.groups, knownOf([b], house), before, true, firm)
      left -= found.effort
      if (found.better) {
        commit(found.groups, found.trial.surveyed, found.trial.draft)
        better = true
      } else ledger.enter(b)
    }
    return better
  }

  /** Work whose hours nobody keeps for days on is not helped by another look, nor is what people know of. */
  function couldBeBetter(rule: BrokenRule): boolean {
    if (rule.strength !== 'hard' || rule.rule === 'cycle') return false
    if (rule.tasks.every((key) => known.get(key)?.broken?.includes(rule.rule))) return false
    if (rule.rule !== 'outside-window') return true
    const { surveyed, draft } = roster.bundleOf(rule.tasks[0]!)!
    const { model } = surveyed.ground
    const i = model.taskOf.get(rule.tasks[0]!)!
    const at = draft.slots[i]!.startMin
    return firstAlone(model, i, at - DAY_MIN) <= at + DAY_MIN
  }

  const change: Session['change'] = (asked) => {
    const usedBefore = schedulesUsed
    problem = {
      ...problem,
      nowMin: asked.nowMin ?? problem.nowMin,
      horizonMin: asked.horizonMin ?? problem.horizonMin,
    }
    const standing = new Set(roster.bundles())
    const freed = new Set((asked.groups ?? []).flatMap((g) => roster.bundleIn(g.group) ?? []))
    for (const b of standing) if (b.stirsMin < problem.nowMin) freed.add(b)
    // As they were told, while all they may name still stands.
    for (const b of freed) toldOf(b, ledger)
    const before = brokenOf(freed)
    const wasKnown = [...knownOf([...freed], house)]
    const free = (b: Bundle) => {
      ledger.strike(b)
      roster.unseat(b)
    }
    for (const b of freed) free(b)
    const names = new Set([...freed].flatMap((b) => b.groups.map((g) => g.group)))
    const gone = enlistAll(asked.groups ?? [], names)
    // Lots that the new links tie to these come along.
    for (const name of names)
      for (const key of awayKeys(roster.groups.get(name)!, roster.groupOf)) {
        const bundle = roster.bundleOf(key)
        if (!bundle) continue
        wasKnown.push(...knownOf([bundle], house))
        free(bundle)
        for (const g of bundle.groups) names.add(g.group)
      }
    const set = [...roster.groups.values()].filter((g) => names.has(g.group))
    if (set.length > 0) placeAnew(set, wasKnown, before)
    const { made, left } = exchanged(standing)
    const old = new Map(left.flatMap((b) => (isTold(b) ? b.told : [])).map((p) => [p.key, p]))
    const placed = made.flatMap((b) => toldOf(b, ledger)).filter((p) => !samePlaced(old.get(p.key), p))
    placed.push(...lateBounds(new Set(made)))
    return {
      placed,
      holds: made.flatMap((b) => b.holds),
      gone,
      schedulesUsed: schedulesUsed - usedBefore,
    }
  }

  /**
   * Puts lots' new work in the place of the old.
   *
   * @param names lots that are placed anew: what comes is added, what goes is taken out
   * @returns keys that are no more
   */
  function enlistAll(asked: readonly Group[], names: Set<string>): readonly string[] {
    const gone = new Set<string>()
    for (const g of asked) {
      const was = roster.groups.get(g.group)
      for (const t of was?.tasks ?? []) gone.add(t.key)
      if (was) roster.delist(was, g.tasks.length === 0)
    }
    for (const g of asked) {
      if (g.tasks.length === 0) names.delete(g.group)
      else {
        roster.enlist(g)
        names.add(g.group)
      }
      for (const t of g.tasks) gone.delete(t.key)
    }
    return [...gone]
  }

  /** Notes what bookings came and went. */
  function exchanged(standing: ReadonlySet<Bundle>): {
    readonly made: readonly Bundle[]
    readonly left: readonly Bundle[]
  } {
    const current = new Set(roster.bundles())
    const left = [...standing].filter((b) => !current.has(b))
    const made = [...current].filter((b) => !standing.has(b))
    for (const b of [...left, ...made]) {
      moved.push(...b.booked)
      for (const c of b.claims) stirred.add(c.day)
    }
    return { made, left }
  }

  const follow: Session['follow'] = (next) => {
    const asked = groupsOf(next)
    if (!canFollow(problem, next) || !sameLots([...roster.groups.keys()], asked)) return false
    const passed = next.nowMin !== problem.nowMin
    const standing = new Set(roster.bundles())
    const wasKnown = known
    problem = next
    known = knownBy(next)
    const other = asked.filter((g) => !same(roster.groups.get(g.group), g))
    const stale = new Set(other.flatMap((g) => roster.bundleIn(g.group) ?? []))
    for (const b of standing) if (!standsStill(b, wasKnown)) stale.add(b)
    enlistAll(other, new Set())
    const sets = bundled([...roster.groups.values()], roster.groupOf)
    const kept = sets.map((set) => keptFor(set, stale))
    const loose = new Set(sets.flatMap((set, k) => (kept[k] ? [] : set.flatMap((g) => roster.bundleIn(g.group) ?? []))))
    for (const b of loose) {
      ledger.strike(b)
      roster.unseat(b)
    }
    if (passed) for (const b of kept) if (b) retime(b)
    takeOver(sets.filter((_, k) => !kept[k]))
    exchanged(standing)
    return true
  }

  /** Neither time nor what people know says anything else of it than when it was taken over. */
  function standsStill(b: Bundle, wasKnown: ReadonlyMap<string, Previous>): boolean {
    if (!b.adopted || b.surveyed.cycles.length > 0) return false
    if (b.stirsMin < problem.nowMin || b.fixedMin < problem.nowMin) return false
    return b.groups.every((g) =>
      [...g.tasks, ...g.holds].every(({ key }) => sameKnown(wasKnown.get(key), known.get(key))),
    )
  }

  /** The bundle of just these lots, where it may stay. */
  function keptFor(set: readonly Group[], stale: ReadonlySet<Bundle>): Bundle | undefined {
    const b = roster.bundleIn(set[0]!.group)
    return b &&
      !stale.has(b) &&
      same(
        b.groups.map((g) => g.group),
        set.map((g) => g.group),
      )
      ? b
      : undefined
  }

  /** Brings what was told of a bundle up to the hour. */
  function retime(b: Bundle) {
    const causesOfOld = b.surveyed.ground.model.problem.nowMin
    const changed = new Set(passTime(b, problem.nowMin))
    if (!isTold(b)) return
    const { ground, hard } = b.surveyed
    const scene = sceneOf(b, ledger)
    b.draft.slots.forEach(({ startMin }, i) => {
      const reachMin = isByDay(ground.model.tasks[i]!) ? NEAR_NOW_DAY_MIN : NEAR_NOW_MIN
      const near = startMin >= causesOfOld && startMin <= problem.nowMin + reachMin
      if (!near && !changed.has(i)) return
      const was = b.told[i]!
      const causes = near ? causesOf(scene, i) : { notEarlier: was.notEarlier, notLater: was.notLater }
      b.told[i] = placedAt(ground.model, hard, b.draft, i, causes)
    })
  }

  /** Looks up the causes of unmoved work again where they may be others; the tasks that are told otherwise. */
  function retell(): readonly Placed[] {
    const told: Placed[] = []
    const scenes = new Map<Bundle, Scene>()
    const near = [...nearby(house, ledger, moved)].map(roster.taskOf)
    const daily = dailyNear(house, ledger.claims, moved, stirred)
    const stale = new Set(moved.length === 0 ? [] : [...near, ...roster.bundles().flatMap(unbookedOf)])
    for (const key of daily) stale.add(key)
    moved.length = 0
    stirred.clear()
    for (const key of stale) {
      const bundle = roster.bundleOf(key ?? '')
      const i = bundle?.surveyed.ground.model.taskOf.get(key ?? '')
      if (!bundle || i === undefined || !isTold(bundle)) continue
      const scene = scenes.get(bundle) ?? sceneOf(bundle, ledger)
      scenes.set(bundle, scene)
      const was = bundle.told[i]!
      const causes = causesOf(scene, i)
      if (same(was.notEarlier, causes.notEarlier) && same(was.notLater, causes.notLater)) continue
      const one = { ...was, ...causes }
      bundle.told[i] = one
      told.push(one)
    }
    return told
  }

  function lateBounds(made: ReadonlySet<Bundle>): readonly Placed[] {
    return roster.bundles().flatMap((b) => {
      if (made.has(b)) return []
      const late = passTime(b, problem.nowMin)
      const { ground, hard } = b.surveyed
      return late.map((i): Placed => {
        const was = toldOf(b, ledger)[i]!
        const one = placedAt(ground.model, hard, b.draft, i, { notEarlier: was.notEarlier, notLater: was.notLater })
        b.told[i] = one
        return one
      })
    })
  }

  return {
    change,
    follow,
    retell,
    broken,
    plan: (bare = false) => {
      if (!bare) retell()
      const bundles = roster.bundles()
      const placed = bundles.flatMap((b) => (bare ? bareOf(b) : toldOf(b, ledger)))
      const byKey = new Map(placed.map((p) => [p.key, p]))
      const holdsByKey = new Map(bundles.flatMap((b) => b.holds.map((h) => [h.key, h] as const)))
      const order = [...roster.groups.values()]
      return {
        placed: order.flatMap((g) => g.tasks.map((t) => byKey.get(t.key)!)),
        holds: order.flatMap((g) => g.holds.map((h) => holdsByKey.get(h.key)!)),
        broken: broken(),
        schedulesUsed,
      }
    },
  }
}

function samePlaced(a: Placed | undefined, b: Placed): boolean {
  return a !== undefined && same(a, b)
}

export type { Group }
