import type { Turns } from './build.ts'
import type { Group } from './bundles.ts'
import { clustersOf } from './clusters.ts'
import { notEarlier, type Scene } from './explain.ts'
import type { Surveyed } from './ground.ts'
import { holdUnitsOf } from './tell.ts'
import type { Bench, Trial } from './trial.ts'
import type { BrokenRule, Problem } from './types.ts'

type Known = NonNullable<Problem['previous']>

/** Other lots' work that stands in the way, with what is needed to free it or to leave it. */
export interface Rival {
  readonly tasks: readonly string[]
  readonly groups: readonly Group[]
  readonly known: Known
  readonly broken: readonly BrokenRule[]
  /** Takes its bookings out of the ledger, and puts them back. */
  readonly take: () => void
  readonly giveBack: () => void
  /** It is part of the new placing from now on. */
  readonly drop: () => void
}

export interface Piecework {
  readonly trial: (set: readonly Group[], known: Known, turnsOf?: (surveyed: Surveyed) => Turns) => Trial
  readonly rivals: (trial: Trial) => readonly Rival[]
}

export interface Found {
  readonly groups: readonly Group[]
  readonly trial: Trial
  /** Breaks less that is hard than where the work stood. */
  readonly better: boolean
  /** Tasks placed on the way. */
  readonly effort: number
}

/** Times the circle of freed work is drawn wider before what is broken is reported. */
const MOST_ROUNDS = 2
const DAY_MIN = 1440
/** So far around the trouble wishes are given up at the last. */
const AROUND_MIN = DAY_MIN
/** Work in trouble takes its turn so much sooner than its rivals. */
const FIRST_MIN = 4 * DAY_MIN

/**
 * Places lots among the rest. Where that breaks more than before, the work that stands in the way is freed with them,
 * and the best of these ways is kept. The ledger must not hold the bookings of `set`; on return it holds neither those
 * of `set` nor of any other lot in `groups`.
 */
export function best(
  work: Piecework,
  set: readonly Group[],
  known: Known,
  before: readonly BrokenRule[],
  mustBeBetter = false,
): Found {
  const plain = work.trial(set, known)
  const standing = weighed(before)
  let effort = plain.draft.slots.length
  let found: Omit<Found, 'effort'> = { groups: set, trial: plain, better: lessHard(gainOf(plain, standing)) }
  let foundGain = gainOf(plain, standing)
  const wanted = (gain: readonly number[]) => (mustBeBetter ? lessHard(gain) : gain[0]! <= 0)
  let taken: readonly Rival[] = []
  let lastTrial = plain
  let kept: readonly Rival[] = []
  for (let round = 0; round <= MOST_ROUNDS && !wanted(foundGain); round++) {
    const isLast = round === MOST_ROUNDS
    const fresh = isLast ? [] : work.rivals(lastTrial).filter((r) => !taken.some((t) => t.groups[0] === r.groups[0]))
    if (isLast ? taken.length === 0 : round > 0 && fresh.length === 0) continue
    for (const r of fresh) r.take()
    taken = [...taken, ...fresh]
    const base = weighed([...before, ...taken.flatMap((r) => r.broken)])
    const all = [...set, ...taken.flatMap((r) => r.groups)]
    const loose = new Set(taken.flatMap((r) => r.tasks))
    const wishes = taken.flatMap((r) => r.known)
    const asked = [...known, ...(isLast ? farFrom(lastTrial, wishes) : wishes)]
    const tried = work.trial(all, asked, (s) => turnsFor(s, lastTrial, loose))
    effort += tried.draft.slots.length
    lastTrial = tried
    const gain = gainOf(tried, base)
    if (!less(gain, foundGain)) continue
    found = { groups: all, trial: tried, better: lessHard(gain) }
    foundGain = gain
    kept = taken
  }
  for (const r of taken) {
    if (kept.includes(r) && (!mustBeBetter || found.better)) r.drop()
    else r.giveBack()
  }
  return { ...found, effort }
}

/** What is in the way gives up its wishes too in the end, for the days around the trouble. */
function farFrom({ surveyed, draft, broken }: Trial, wishes: Known): Known {
  const { taskOf } = surveyed.ground.model
  const at = broken
    .filter((rule) => rule.strength === 'hard')
    .flatMap((rule) => rule.tasks.flatMap((key) => draft.slots[taskOf.get(key) ?? -1]?.startMin ?? []))
  const [fromMin, toMin] = [Math.min(...at) - AROUND_MIN, Math.max(...at) + AROUND_MIN]
  return wishes.filter((w) => !taskOf.has(w.key) || w.startMin < fromMin || w.startMin > toMin)
}

/** Work in trouble goes first, with all that is tied to it; what stands in its way gives up its place but not its wish. */
function turnsFor({ ground }: Surveyed, trial: Trial, loose: ReadonlySet<string>): Turns {
  const { model, want } = ground
  const turns = new Float64Array(model.tasks.length)
  const { clusterOf } = clustersOf(model, want)
  const troubled = new Set<number>()
  for (const rule of trial.broken)
    if (rule.strength === 'hard')
      for (const key of rule.tasks) {
        const i = model.taskOf.get(key)
        if (i !== undefined && !loose.has(key)) troubled.add(clusterOf[i]!)
      }
  model.tasks.forEach((task, i) => {
    if (troubled.has(clusterOf[i]!)) turns[i] = -FIRST_MIN
    else if (loose.has(task.key)) turns[i] = 1
  })
  return turns
}

/** Fewer hard rules, or as many by less. */
export function breaksLess(a: readonly BrokenRule[], b: readonly BrokenRule[]): boolean {
  const base = weighed(b)
  return lessHard(weighed(a).map((x, k) => x - base[k]!))
}

/** Hard rules broken, by how much, soft ones: the first figures of a plan's score. */
function weighed(broken: readonly BrokenRule[]): readonly number[] {
  const sum = (list: readonly BrokenRule[]) => list.reduce((total, b) => total + Math.min(b.by ?? 1, 30 * DAY_MIN), 0)
  const hard = broken.filter((b) => b.strength === 'hard')
  const soft = broken.filter((b) => b.strength === 'soft')
  return [hard.length, sum(hard), soft.length, sum(soft)]
}

/** How a trial stands against what was broken before, then how much known work it changes. */
const gainOf = (trial: Trial, base: readonly number[]): readonly number[] =>
  trial.score.slice(0, 5).map((x, k) => x - (base[k] ?? 0))

function less(a: readonly number[], b: readonly number[]): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! < b[k]!
  return false
}

const lessHard = (gain: readonly number[]) => gain[0]! < 0 || (gain[0] === 0 && gain[1]! < 0)

/** Keys of tasks and holds of other lots that have what the broken rules of a trial want. */
export function rivalsOf({ ledger }: Bench, trial: Trial): readonly string[] {
  const { surveyed, draft } = trial
  const { model, target } = surveyed.ground
  const keys = new Set<string>()
  const books = draft.books ?? ledger
  const scene: Scene = { model, slots: draft.slots, desk: books, target, holdUnits: holdUnitsOf(model, draft) }
  for (const rule of trial.broken) {
    if (rule.strength !== 'hard') continue
    for (const key of rule.tasks) {
      const i = model.taskOf.get(key)
      if (i === undefined) {
        keys.add(key)
        continue
      }
      for (const cause of notEarlier(scene, i))
        if (cause.by !== undefined && !model.taskOf.has(cause.by)) keys.add(cause.by)
    }
  }
  return [...keys]
}
