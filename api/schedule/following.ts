/** What people know of lots, and whether one problem can be gone on to from another. */
import type { Group } from './bundles.ts'
import type { Previous } from './model.ts'
import { same } from './same.ts'
import type { Problem } from './types.ts'

export const knownBy = (problem: Problem): ReadonlyMap<string, Previous> =>
  new Map((problem.previous ?? []).map((p) => [p.key, p]))

/** What people know of the work of these lots. */
export const knownIn = (set: readonly Group[], known: ReadonlyMap<string, Previous>): readonly Previous[] =>
  set.flatMap((g) => [...g.tasks, ...g.holds].flatMap((x) => known.get(x.key) ?? []))

/** What people know to be broken says nothing of where work stands. */
export const sameKnown = (a: Previous | undefined, b: Previous | undefined): boolean =>
  a === b ||
  (!!a && !!b && a.startMin === b.startMin && a.byDay === b.byDay && same(a.people, b.people) && same(a.units, b.units))

/** The same cellar with a known plan, no earlier. */
export const canFollow = (was: Problem, next: Problem): boolean =>
  (next.previous?.length ?? 0) > 0 &&
  next.nowMin >= was.nowMin &&
  next.horizonMin === was.horizonMin &&
  next.moves === was.moves &&
  same(was.people, next.people) &&
  same(was.units, next.units) &&
  same(was.calendars, next.calendars) &&
  same(was.days, next.days) &&
  same(was.travel, next.travel)

export const sameLots = (names: readonly string[], asked: readonly Group[]): boolean =>
  names.length === asked.length && asked.every((g, k) => g.group === names[k])
