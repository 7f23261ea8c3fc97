import { bookedBy, claimedBy } from './booked.ts'
import type { Booking } from './bookings.ts'
import { buildDraft, type Draft, type Turns } from './build.ts'
import { ownBroken } from './check.ts'
import { dayBroken } from './claims.ts'
import { type Surveyed, survey } from './ground.ts'
import { brokenBy, judgedWhole, type Ledger, pairsOf } from './ledger.ts'
import { type House, modelOf } from './model.ts'
import { finishedOf, scoreOf } from './score.ts'
import { circlesOf } from './tell.ts'
import type { BrokenRule, Problem } from './types.ts'
import { type SideOf, unitBroken } from './unitrules.ts'

/** One way to place some work among all the rest, and what it would break. */
export interface Trial {
  readonly surveyed: Surveyed
  readonly draft: Draft
  readonly broken: readonly BrokenRule[]
  /** As a whole plan's score, over this work alone. */
  readonly score: readonly number[]
}

/** Sees work among what stands in the ledger. The ledger stays as it is. */
export interface Bench {
  readonly house: House
  readonly ledger: Ledger
  readonly sideOf: SideOf
}

export function trialOf(
  bench: Bench,
  problem: Problem,
  turnsOf?: (surveyed: Surveyed) => Turns,
  firm?: boolean,
): Trial {
  const surveyed = survey(modelOf(problem, bench.house), bench.ledger)
  return triedWith(bench, surveyed, buildDraft(surveyed.ground, turnsOf?.(surveyed), undefined, firm))
}

/** The same, for a draft that is there already. */
export function triedWith(bench: Bench, surveyed: Surveyed, draft: Draft): Trial {
  const { ground, cycles } = surveyed
  const { model } = ground
  const broken = [
    ...circlesOf(model, cycles),
    ...ownBroken(finishedOf(model, draft)),
    ...sharedBroken(bench, surveyed, draft),
  ]
  return { surveyed, draft, broken, score: scoreOf(ground, draft, broken) }
}

/** Clashes in which this work takes part. */
function sharedBroken({ sideOf, house }: Bench, { ground }: Surveyed, draft: Draft): readonly BrokenRule[] {
  const { model } = ground
  const { books } = draft
  if (!books) return []
  const own = (key: string) => model.taskOf.has(key)
  const { nowMin } = model.problem
  const found: BrokenRule[] = []
  const whole = new Set<number>()
  const seen = new Set<string>()
  for (const b of bookedBy(model, draft)) {
    if (b.of === 'unit' && judgedWhole(house, b.at)) {
      whole.add(b.at)
      continue
    }
    const book = (b.of === 'person' ? books.people : books.units)[b.at]!
    for (const pair of pairsOf(house, b, book)) {
      const rule = brokenBy(house, pair, sideOf, nowMin)
      // Work of this placing meets itself in the book, and meets the other side once from each side.
      const sign = rule && `${rule.rule} ${rule.ref} ${[spanOf(pair.a), spanOf(pair.b)].sort().join(' ')}`
      if (!rule || !sign || seen.has(sign) || spanOf(pair.a) === spanOf(pair.b)) continue
      seen.add(sign)
      found.push(rule)
    }
  }
  for (const u of whole)
    found.push(...unitBroken(house.units[u]!, books.units[u]!.list, sideOf, nowMin).filter((r) => r.tasks.some(own)))
  for (const day of new Set(claimedBy(model, draft).map((c) => c.day)))
    found.push(...dayBroken(house, books, day).filter((r) => r.tasks.some(own)))
  return found
}

const spanOf = (b: Booking) => `${b.kind} ${b.key} ${b.fromMin}`
