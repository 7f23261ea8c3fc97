import type { Turns } from './build.ts'
import type { Group } from './bundles.ts'
import { clustersOf } from './clusters.ts'
import { notEarlier, type Scene } from './explain.ts'
import type { Surveyed } from './ground.ts'
import { weighed } from './score.ts'
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
  readonly trial: (
    set: readonly Group[],
    known: Known,
    turnsOf?: (surveyed: Surveyed) => Turns,
    firm?: boolean,
  ) => Trial
  readonly rivals: (trial: Trial, firm: boolean) => readonly Rival[]
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

/** A row of trials, each freeing more of what stands in the way of the one before. */
interface Row {
  readonly groups: readonly Group[]
  readonly trial: Trial
  readonly gain: readonly number[]
  /** Other lots that the best of them frees. */
  readonly freed: readonly Rival[]
  readonly effort: number
}

/**
 * Places lots among the rest. Where that breaks more than before, the work that stands in the way is freed with them,
 * and the best of these ways is kept. The ledger must not hold the bookings of `set`; on return it holds neither those
 * of `set` nor of any other lot in `groups`.
 *
 * @param firm nothing waits past its last lawful start, so that hands are short instead and lighter work leaves its own
 */
export function best(
  work: Piecework,
  set: readonly Group[],
  known: Known,
  before: readonly BrokenRule[],
  mustBeBetter = false,
  firm = false,
): Found {
  const wanted = (gain: readonly number[]) => (mustBeBetter ? lessHard(gain) : gain[0]! <= 0)
  const plain = work.trial(set, known)
  const first = firm ? work.trial(set, ownFar(plain, known), undefined, true) : plain
  const found = rowFrom(work, first, { set, known, before, wanted, firm })
  const better = lessHard(found.gain)
  if (!mustBeBetter || better)
    for (const r of found.freed) {
      r.take()
      r.drop()
    }
  return { groups: found.groups, trial: found.trial, better, effort: found.effort }
}

interface Wanted {
  readonly set: readonly Group[]
  readonly known: Known
  readonly before: readonly BrokenRule[]
  readonly wanted: (gain: readonly number[]) => boolean
  readonly firm: boolean
}

/** The ledger is left as it was found. */
function rowFrom(work: Piecework, first: Trial, { set, known, before, wanted, firm }: Wanted): Row {
  let effort = first.draft.slots.length
  let found: Omit<Row, 'effort'> = {
    groups: set,
    trial: first,
    gain: gainOf(first, weighed(before, firm), firm),
    freed: [],
  }
  let taken: readonly Rival[] = []
  let last = first
  for (let round = 0; round <= MOST_ROUNDS && !wanted(found.gain); round++) {
    const isLast = round === MOST_ROUNDS
    const fresh = isLast ? [] : work.rivals(last, firm).filter((r) => !taken.some((t) => t.groups[0] === r.groups[0]))
    if (isLast ? taken.length === 0 : round > 0 && fresh.length === 0) continue
    for (const r of fresh) r.take()
    taken = [...taken, ...fresh]
    const base = weighed([...before, ...taken.flatMap((r) => r.broken)], firm)
    const all = [...set, ...taken.flatMap((r) => r.groups)]
    const loose = new Set(taken.flatMap((r) => r.tasks))
    const wishes = taken.flatMap((r) => r.known)
    const asked = [...known, ...(isLast ? farFrom(last, wishes) : wishes)]
    const seen = last
    const tried = work.trial(all, asked, (s) => turnsFor(s, seen, loose), firm)
    effort += tried.draft.slots.length
    last = tried
    const gain = gainOf(tried, base, firm)
    if (less(gain, found.gain)) found = { groups: all, trial: tried, gain, freed: taken }
  }
  for (const r of taken) r.giveBack()
  return { ...found, effort }
}

/** A lot in trouble gives up its own wishes for the days around it: what it knew of them holds no more. */
function ownFar(trial: Trial, known: Known): Known {
  const { tasks, taskOf } = trial.surveyed.ground.model
  const groupOf = (key: string) => tasks[taskOf.get(key) ?? -1]?.group
  const groups = new Set(trial.broken.flatMap((rule) => (rule.strength === 'hard' ? rule.tasks.map(groupOf) : [])))
  const own = known.filter((w) => groups.has(groupOf(w.key)))
  const kept = new Set(farFrom(trial, own))
  return known.filter((w) => kept.has(w) || !groups.has(groupOf(w.key)))
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

/** How a trial stands against what was broken before, then how much known work it changes. */
const gainOf = (trial: Trial, base: readonly number[], grave: boolean): readonly number[] =>
  [...weighed(trial.broken, grave), trial.score[4]!].map((x, k) => x - (base[k] ?? 0))

function less(a: readonly number[], b: readonly number[]): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! < b[k]!
  return false
}

const lessHard = (gain: readonly number[]) => gain[0]! < 0 || (gain[0] === 0 && gain[1]! < 0)

const signOf = (b: BrokenRule) => `${b.rule} ${b.tasks.join(' ')} ${b.ref ?? ''}`

/** Keys of tasks and holds of other lots that have what the broken rules of a trial want. */
export function rivalsOf({ ledger }: Bench, trial: Trial, firm: boolean): readonly string[] {
  const { surveyed, draft } = trial
  const { model, target } = surveyed.ground
  const keys = new Set<string>()
  const books = draft.books ?? ledger
  const scene: Scene = { model, slots: draft.slots, desk: books, target, holdUnits: holdUnitsOf(model, draft) }
  const hard = trial.broken.filter((rule) => rule.strength === 'hard')
  // In an order of their own, and those that have lost their people before those that are only in the way.
  if (firm) hard.sort((a, b) => (signOf(a) < signOf(b) ? -1 : 1))
  const robbed = firm ? hard.filter((rule) => rule.rule === 'person-taken').flatMap((rule) => rule.tasks) : []
  for (const key of robbed) if (!model.taskOf.has(key)) keys.add(key)
  for (const rule of hard) {
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
