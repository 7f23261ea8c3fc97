import { type Laid, layCellar, type PlanOptions } from './plan.ts'
import { loadWords } from './protocol/answers/ask.ts'
import type { ConflictTold } from './protocol/answers/ways-out.ts'
import type { Facts } from './protocol/facts.ts'
import { told } from './protocol/told.ts'
import { conflictOf, type Limit } from './schedule/conflict.ts'

/** Limits that are looked at, the nearest to the trouble first: each costs a plan. */
const MOST_LIMITS = 12

/**
 * The limits behind a hard rule that is broken in the plan of these facts, in words. Pure.
 *
 * @param taskKey a task it is broken at; absent: the first that is still to be done
 * @returns nothing where no such rule is broken
 */
export function conflictIn(facts: Facts, options: PlanOptions, taskKey?: string): ConflictTold | undefined {
  const laid = layCellar(facts, options)
  const plan = told(laid, facts, options.nowAt)
  const tasks = new Map(plan.tasks.map((t) => [t.key, t]))
  const isOver = (key: string) => ['done', 'skipped', 'cancelled'].includes(tasks.get(key)?.state ?? 'done')
  const startOf = (keys: readonly string[]) =>
    Math.min(...keys.flatMap((key) => tasks.get(key)?.startAt.epochMilliseconds ?? []))
  // Rules of the network come first, in the order in which `told` puts them into words.
  const first = laid.plan.broken
    .map((rule, i) => ({ rule, words: plan.broken[i]!.words }))
    .filter(({ rule }) => rule.strength === 'hard' && !rule.tasks.every(isOver))
    .filter(({ rule }) => taskKey === undefined || rule.tasks.includes(taskKey))
    .sort((a, b) => startOf(a.rule.tasks) - startOf(b.rule.tasks))[0]
  if (!first) return undefined
  const previous = [
    ...laid.plan.placed.map(({ key, startMin, people, units }) => ({ key, startMin, people, units })),
    ...laid.plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
  ]
  const found = conflictOf({ ...laid.problem, previous }, laid.plan, first.rule, MOST_LIMITS)
  return {
    words: first.words,
    taskKeys: first.rule.tasks,
    ...(first.rule.by !== undefined ? { byMin: first.rule.by } : {}),
    limits: found.limits.map((l) => limitWords(l, laid, facts)),
    letGo: found.waysOut.map((w) => ({ words: limitWords(w.letGo, laid, facts), hardBroken: w.hardBroken })),
    freed: found.freed,
    schedules: found.schedulesUsed,
  }
}

function limitWords(limit: Limit, laid: Laid, facts: Facts): string {
  const works = new Map(laid.works.map((w) => [w.task.key, w]))
  const taskOf = (key: string) => {
    const work = works.get(key)
    return work
      ? `${work.task.group === 'house' ? '' : `${work.task.group} `}${work.name.toLowerCase()}${loadWords(key, (other) => works.has(other))}`
      : key
  }
  switch (limit.kind) {
    case 'pin':
      return `${taskOf(limit.task)} is fixed by a person`
    case 'due':
      return `${taskOf(limit.task)} is wanted by its day`
    case 'window':
      return `${taskOf(limit.task)} begins only at its hours of the day`
    case 'longest-lag':
      return `${taskOf(limit.next)} may not wait longer after ${taskOf(limit.task)}`
    case 'vessel':
      return `the wine of ${limit.hold.split('/')[0]} is to lie where it was put to ${limit.hold.split('/')[1]?.replace(/-\d+$/, '')}`
    case 'booking': {
      const unit = [...facts.machines, ...facts.vessels].find((u) => u.id === limit.unit)
      return `${unit?.code ?? limit.unit} is booked: ${unit?.bookings[limit.at]?.why ?? 'taken'}`
    }
  }
}
