import type { Draft, Ground } from './build.ts'
import { chanceFrom } from './chance.ts'
import { type Judged, judgedDraft, lessThan } from './score.ts'
import type { BrokenRule, Watch } from './types.ts'

const DAY_MIN = 1440
/** How far a lot's turn is shifted at most, either way. */
const FARTHEST_MIN = 4 * DAY_MIN

/**
 * Looks for a plan with fewer broken rules: groups that are in trouble get another turn in the order of placing, and
 * a plan is kept when it is better, or as good. Ends when nothing is broken or the moves are used up.
 */
export function improve(
  ground: Ground,
  seed: number,
  moves: number,
  watch?: Watch,
): { draft: Draft; schedulesUsed: number } {
  const { model } = ground
  const chance = chanceFrom(seed)
  const membersOf = new Map<string, number[]>()
  model.tasks.forEach((t, i) => {
    const members = membersOf.get(t.group)
    if (members) members.push(i)
    else membersOf.set(t.group, [i])
  })
  let turns = new Float64Array(model.tasks.length)
  const of = Math.max(1, moves)
  const tasks = model.tasks.length
  let best = judgedDraft(
    ground,
    undefined,
    watch && ((placed) => watch({ schedules: 0, of, brokenHard: 0, placed, tasks })),
  )
  let used = 1
  const tell = () =>
    watch?.({ schedules: used, of, brokenHard: best.broken.filter((b) => b.strength === 'hard').length })
  tell()
  while (used < moves && best.broken.length > 0) {
    const next = turns.slice()
    for (const group of troubled(ground, best, chance)) {
      const shift = Math.round((2 * chance() - 1) * FARTHEST_MIN)
      for (const i of membersOf.get(group) ?? []) next[i]! += shift
    }
    const tried = judgedDraft(ground, next)
    used++
    if (!lessThan(best.score, tried.score)) {
      best = tried
      turns = next
    }
    tell()
  }
  return { draft: best.draft, schedulesUsed: used }
}

/** One or two groups to shift: of a broken rule picked by chance, and perhaps one that shares its unit or person then. */
function troubled(ground: Ground, best: Judged, chance: () => number): readonly string[] {
  const { model } = ground
  const hard = best.broken.filter((b) => b.strength === 'hard')
  const rules = hard.length > 0 ? hard : best.broken
  const rule = rules[Math.floor(chance() * rules.length)]!
  const groups = [...new Set(rule.tasks.flatMap((key) => model.tasks[model.taskOf.get(key)!]!.group))]
  const first = groups[Math.floor(chance() * groups.length)]
  const rivals = rivalsOf(ground, best, rule).filter((g) => g !== first)
  const other = rivals[Math.floor(chance() * rivals.length)]
  const both = chance() < 0.5
  if (first === undefined) return other === undefined ? [] : [other]
  return other !== undefined && both ? [first, other] : [chance() < 0.3 && other !== undefined ? other : first]
}

/** Groups with work on the same units or people within a day of the trouble. */
function rivalsOf(ground: Ground, best: Judged, rule: BrokenRule): readonly string[] {
  const { model } = ground
  const at = rule.tasks.map((key) => model.taskOf.get(key)!)
  const units = new Set(at.flatMap((i) => model.tasks[i]!.uses.map((u) => u.pool)))
  const groups = new Set<string>()
  best.draft.slots.forEach((slot, i) => {
    const near = at.some((j) => Math.abs(best.draft.slots[j]!.startMin - slot.startMin) < DAY_MIN)
    if (near && (slot.crew.people.length > 0 || model.tasks[i]!.uses.some((u) => units.has(u.pool))))
      groups.add(model.tasks[i]!.group)
  })
  return [...groups].sort()
}
