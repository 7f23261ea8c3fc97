import { buildDraft, type Draft, type Ground, type Heard } from './build.ts'
import { brokenRules } from './check.ts'
import { isByDay } from './claims.ts'
import type { Finished } from './finished.ts'
import type { Model } from './model.ts'
import { factOf } from './network.ts'
import type { BrokenRule, Placed, PlacedHold } from './types.ts'

/**
 * What a plan is judged by, the weightiest first: a later figure counts only where all before it are equal. Hard rules
 * broken, by how much, soft ones, how far known work moved and changed hands, how far from the wishes, how late in all.
 */
export type Score = readonly number[]

export interface Judged {
  readonly draft: Draft
  readonly score: Score
  readonly broken: readonly BrokenRule[]
}

/** Minutes that a change of hands or vessel counts for beside a move in time. */
const OTHER_HANDS_MIN = 30
/** Known work within the next day counts so many times more: people have been told. */
const TODAY_WEIGHT = 10
const DAY_MIN = 1440

export function judgedDraft(ground: Ground, turns?: Float64Array, heard?: Heard): Judged {
  const draft = buildDraft(ground, turns, heard)
  const broken = brokenRules(finishedOf(ground.model, draft), draft)
  return { draft, broken, score: scoreOf(ground, draft, broken) }
}

export function lessThan(a: Score, b: Score): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! < b[k]!
  return false
}

export function scoreOf(ground: Ground, draft: Draft, broken: readonly BrokenRule[]): Score {
  const { model, want } = ground
  const { nowMin } = model.problem
  let changed = 0
  let unwished = 0
  let late = 0
  let end = 0
  draft.slots.forEach((slot, i) => {
    const task = model.tasks[i]!
    end = Math.max(end, slot.endMin)
    if (factOf(model, i) !== undefined) return
    const was = model.previous.get(task.key)
    if (was && (isByDay(task) || was.byDay)) {
      // Of one of the two only the day is meant.
      if (model.days.of(was.startMin) !== model.days.of(slot.startMin))
        changed += Math.abs(slot.startMin - was.startMin)
    } else if (was) {
      const near = was.startMin < nowMin + DAY_MIN ? TODAY_WEIGHT : 1
      const hands =
        was.people.join() === slot.crew.people.map((p) => model.people[p]!.person.id).join() ? 0 : OTHER_HANDS_MIN
      changed += near * (Math.abs(slot.startMin - was.startMin) + hands)
    } else if (typeof task.bias === 'object') unwished += Math.abs(slot.startMin - task.bias.nearMin)
    late += Math.max(0, slot.startMin - want[i]!)
  })
  return [...weighed(broken), changed, unwished, late, end]
}

/** How many hard limits are broken: a hand that is not there lacks by itself and by its skill. */
const countOf = (broken: readonly BrokenRule[]): number =>
  broken.reduce((sum, { rule, ref }) => sum + (rule === 'no-person' && ref !== undefined ? 2 : 1), 0)

/**
 * How grave broken rules are in all: what must be by a day stands as firm as a hand, nothing is pressed before it has
 * come, and what is out of service cannot be used at all.
 */
const gravityOf = (broken: readonly BrokenRule[]): number =>
  countOf(broken) +
  broken.reduce((sum, { rule, reason }) => {
    if (rule === 'unit-taken' && reason !== undefined) return sum + 3
    return sum + (rule === 'after-due' ? 1 : rule === 'link-too-short' ? 2 : 0)
  }, 0)

/** Hard rules broken, by how much, soft ones: the first figures of a plan's score. */
export function weighed(broken: readonly BrokenRule[], grave = false): readonly [number, number, number, number] {
  const sum = (list: readonly BrokenRule[]) => list.reduce((total, b) => total + Math.min(b.by ?? 1, 30 * DAY_MIN), 0)
  const hard = broken.filter((b) => b.strength === 'hard')
  const soft = broken.filter((b) => b.strength === 'soft')
  return [grave ? gravityOf(hard) : countOf(hard), sum(hard), soft.length, sum(soft)]
}

/** The draft as the rules read it. */
export function finishedOf(model: Model, draft: Draft): Finished {
  const id = (u: number) => model.units[u]!.unit.id
  return {
    model,
    uses: draft.slots.map((s) => s.units),
    holds: holdsOf(model, draft),
    placed: draft.slots.map(
      (slot, i): Placed => ({
        key: model.tasks[i]!.key,
        startMin: slot.startMin,
        endMin: slot.endMin,
        crewEndMin: slot.crewEndMin,
        people: slot.crew.people.map((p) => model.people[p]!.person.id),
        units: slot.units.flat().map(id),
        earliestMin: 0,
        latestMin: 0,
        slackMin: 0,
        notEarlier: [],
        notLater: [],
      }),
    ),
  }
}

export function holdsOf(model: Model, draft: Draft): readonly PlacedHold[] {
  return model.holds.map((h, k): PlacedHold => {
    const from = draft.slots[h.from]!
    const to = draft.slots[h.to]!
    return {
      key: h.hold.key,
      units: (draft.berths[k]?.units ?? []).map((u) => model.units[u]!.unit.id),
      fromMin: h.fromEnd ? from.endMin : from.startMin,
      toMin: h.toEnd ? to.endMin : to.startMin,
    }
  })
}
