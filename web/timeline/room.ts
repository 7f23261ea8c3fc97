/** Whether a day that has work planned to the day still has working time for more. */
import { dayIndex } from './days.ts'
import { eachTouching } from './interval.ts'
import { BY_DAY, type Model } from './model.ts'
import type { MoveRules } from './rules.ts'
import { minutesOn, shiftSpan } from './shifts.ts'
import type { PersonWire, TaskWire } from './wire.ts'
import { lengthWords } from './words.ts'

const MIN_MS = 60_000

/** Minutes of people that open work by the day asks of each day of the table; of several days, of each its part. */
export function dailyMinutes(model: Model, days: MoveRules['days']): Float64Array {
  const minutes = new Float64Array(days.startMs.length)
  model.plan.tasks.forEach((task, ix) => {
    if (asksOf(model, ix) === 0) return
    const [from, to] = [model.startMs[ix] as number, model.endMs[ix] as number]
    for (let day = dayIndex(days, from); day < minutes.length; day++) {
      const share = shareOn(days, day, from, to)
      minutes[day] = (minutes[day] as number) + task.crew * task.crewMin * share
      if ((days.startMs[day + 1] ?? Number.POSITIVE_INFINITY) >= to) break
    }
  })
  return minutes
}

/** Minutes of people that work by the day asks for in all; none of what is over, or done by the crew of other work. */
function asksOf(model: Model, ix: number): number {
  const { state, streams, crew, crewMin } = model.plan.tasks[ix] as TaskWire
  const isOpen = state === 'planned' || state === 'due' || state === 'blocked'
  return ((model.flags[ix] as number) & BY_DAY) !== 0 && isOpen && !streams ? crew * crewMin : 0
}

function shareOn({ startMs }: MoveRules['days'], day: number, from: number, to: number): number {
  if (to <= from) return 1
  const inside = Math.min(to, startMs[day + 1] ?? to) - Math.max(from, startMs[day] as number)
  return Math.max(0, inside) / (to - from)
}

/** Where a day has fewer minutes of people left than the work would ask of it. */
export function dayFull(rules: MoveRules, ix: number, startMs: number): string | undefined {
  const { model, days, words } = rules
  const task = model.plan.tasks[ix] as TaskWire
  const day = dayIndex(days, startMs)
  const daily = rules.dailyMin[day] as number
  const isDaily = ((model.flags[ix] as number) & BY_DAY) !== 0
  if (task.streams || task.crew === 0 || (daily === 0 && !isDaily)) return undefined
  const own = asksOf(model, ix) * shareOn(days, day, model.startMs[ix] as number, model.endMs[ix] as number)
  const crew = model.plan.people.filter((p) => p.role !== 'viewer' && p.removedAt === undefined)
  const given = crew.map((p) => minutesOn(p, days, day))
  const taken = crew.map((p) => busyOn(rules, p, day, ix))
  const leftMin = given.reduce((sum, min, k) => sum + Math.max(0, min - (taken[k] as number)), 0) - (daily - own)
  // What takes longer than a shift goes on the next day.
  const asksMin = task.crew * Math.min(task.crewMin, Math.max(0, ...given))
  if (leftMin >= asksMin && leftMin > 0) return undefined
  const left = leftMin > 0 ? `has ${lengthWords(leftMin * MIN_MS)} of work left to give` : 'is full'
  return `${words.dayShort(startMs)} ${left}, and this asks for ${lengthWords(task.crew * task.crewMin * MIN_MS)}.`
}

/** Minutes of a shift that work to the minute takes; two things at once count once. */
function busyOn({ model, days, byPerson }: MoveRules, person: PersonWire, day: number, ix: number): number {
  const own = byPerson.get(person.id)
  const shift = shiftSpan(person, days, day)
  if (!own || !shift) return 0
  const endOf = (i: number) => (model.startMs[i] as number) + (model.plan.tasks[i] as TaskWire).crewMin * MIN_MS
  let at = shift.fromMs
  let busyMs = 0
  eachTouching(own, endOf, shift.fromMs, shift.toMs, (i) => {
    if (i === ix) return
    const to = Math.min(endOf(i), shift.toMs)
    busyMs += Math.max(0, to - Math.max(at, model.startMs[i] as number))
    at = Math.max(at, to)
  })
  return busyMs / MIN_MS
}
