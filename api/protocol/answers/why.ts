/** Why a task stands where it does: link by link, down to a fact that a person knows. */
import type { Cause } from '../../schedule/types.ts'
import { dayOf, minutesFrom, Temporal } from '../../time.ts'
import { shiftsOf } from '../calendars.ts'
import { RAISED_FROM } from '../stages/trouble.ts'
import { ticksOf } from '../ticks.ts'
import { filledBy, gives } from '../words.ts'
import { type Answer, type AskGround, type AskTask, length, saying } from './ask.ts'

/** What holds a task on each side, the binding cause first, then what is tight too. */
export interface TaskCauses {
  readonly notEarlier: readonly Cause[]
  readonly notLater: readonly Cause[]
}

type Side = keyof TaskCauses

const MOST_LINKS = 8

/** One link of a chain: the task, what holds it, and the task that is asked next. */
interface Held {
  readonly task: AskTask
  readonly words: string
  readonly also: readonly string[]
  readonly next?: AskTask
}

/** "Why not earlier, why not later, what else is tight?" */
export async function whyThen(g: AskGround, asked: { readonly key: string }): Promise<Answer> {
  const say = saying(g)
  const task = g.plan.tasks.find((t) => t.key === asked.key)
  if (!task) return { verdict: 'no', sentences: [`There is no task ${asked.key}.`] }
  const known = new Map(g.plan.tasks.map((t) => [t.key, t]))
  const causes = (await g.causes?.()) ?? new Map<string, TaskCauses>()
  const chain = (side: Side): readonly Held[] => {
    const held: Held[] = []
    const seen = new Set<string>()
    for (let at: AskTask | undefined = task; at && !seen.has(at.key) && held.length < MOST_LINKS; ) {
      seen.add(at.key)
      const one = heldBy(g, at, causes.get(at.key)?.[side] ?? [], side, known)
      held.push(one)
      at = one.next
    }
    return held
  }
  const earlier = chain('notEarlier')
  const later = chain('notLater')
  const also = earlier[0]?.also ?? []
  const alsoLater = later[0]?.also ?? []
  const told = (h: Held) => `${say.task(h.task)}: ${h.words}.`
  return {
    sentences: [
      `${say.task(task)} stands on ${say.start(task)}, by ${say.crew(task)}.`,
      'Why not earlier:',
      ...earlier.map(told),
      also.length > 0 ? `Also tight within the hour: ${also.join('; ')}.` : 'Nothing else is tight within the hour.',
      'Why not later:',
      ...later.map(told),
      ...(alsoLater.length > 0 ? [`Also close: ${alsoLater.join('; ')}.`] : []),
      `It may slip ${length(task.slackMin)} before a hard limit breaks.`,
    ],
    table: {
      head: ['Side', 'Work', 'Starts', 'Held by'],
      rows: [...earlier.map((h) => ['earlier', h] as const), ...later.map((h) => ['later', h] as const)].map(
        ([side, h]) => ({
          cells: [`not ${side}`, say.task(h.task), say.start(h.task), h.words],
          taskKey: h.task.key,
        }),
      ),
    },
  }
}

function heldBy(
  g: AskGround,
  task: AskTask,
  causes: readonly Cause[],
  side: Side,
  known: ReadonlyMap<string, AskTask>,
): Held {
  const [first, ...rest] = causes
  if (!first) return { task, words: side === 'notEarlier' ? 'the plan begins there' : 'nothing hurries it', also: [] }
  const refOf = (cause: Cause) => known.get(behind(cause) ?? '')
  const next = refOf(first)
  return {
    task,
    words: wordsOf(g, task, first, side, known, refOf(first)),
    also: rest.map((cause) => wordsOf(g, task, cause, side, known, refOf(cause))),
    ...(next ? { next } : {}),
  }
}

/** The work behind a cause; behind a full day what takes most of it. */
function behind({ kind, ref, by, fills }: Cause): string | undefined {
  if (kind === 'link') return ref
  return kind === 'day' ? fills?.[0]?.key : by
}

function wordsOf(
  g: AskGround,
  task: AskTask,
  cause: Cause,
  side: Side,
  known: ReadonlyMap<string, AskTask>,
  other: AskTask | undefined,
): string {
  const say = saying(g)
  const who = cause.ref ? say.nameOf(cause.ref) : ''
  const holds = (what: string) =>
    other ? `${what} is with ${say.task(other)} from ${say.start(other)} until ${say.end(other)}` : `${what} is taken`
  switch (cause.kind) {
    case 'link':
      return linkWords(g, task, cause, side, other)
    case 'person':
      return holds(who)
    case 'travel':
      return travelWords(g, cause, side, who, other)
    case 'unit':
      return other ? holds(who) : bookedWords(g, task, cause.ref, who)
    case 'shift':
      return shiftWords(g, task, cause.ref, who)
    case 'window':
      return `it begins only ${hoursOf(cause.ref)}`
    case 'pin':
    case 'done':
      return factWords(g, task, cause.kind)
    case 'release':
      return releaseWords(g, task)
    case 'deadline':
      return 'it is wanted by then: the day it was booked for'
    case 'previous':
      return `people know it there; by what goes before it could be ${freeFrom(g, task)}`
    case 'bias':
      return `it is wanted then; by what goes before it could be ${freeFrom(g, task)}`
    case 'day':
      return fullWords(g, cause, known)
    case 'now':
      return 'it is planned as soon as possible from now'
  }
}

function fullWords(g: AskGround, cause: Cause, known: ReadonlyMap<string, AskTask>): string {
  const say = saying(g)
  const nameOf = (key: string) => {
    const task = known.get(key)
    return task ? say.task(task) : key
  }
  return `the last day before it has no more ${gives(cause.ref ?? '')} left${filledBy(cause, nameOf)}`
}

/** `from Mon 22 Mar 07:40, when L03 receive ends`. */
function freeFrom(g: AskGround, task: AskTask): string {
  const say = saying(g)
  const before = g.plan.tasks
    .filter((t) => task.prev.includes(t.key) && t.state !== 'cancelled')
    .reduce<AskTask | undefined>((a, b) => (!a || Temporal.Instant.compare(b.endAt, a.endAt) > 0 ? b : a), undefined)
  if (!before || Temporal.Instant.compare(before.endAt, task.startAt) >= 0) return 'sooner'
  return `after ${say.end(before)}, when ${say.task(before)} ends`
}

function linkWords(g: AskGround, task: AskTask, cause: Cause, side: Side, other: AskTask | undefined): string {
  const say = saying(g)
  if (!other) return `it is tied to ${cause.ref}`
  const lag = Math.abs(cause.lagMin ?? 0)
  const isBefore = task.prev.includes(other.key)
  if (side === 'notEarlier')
    return isBefore
      ? `it comes ${lag > 0 ? `${length(lag)} after` : 'after'} ${say.task(other)}, which ends ${say.end(other)}`
      : `${say.task(other)} of ${say.start(other)} may come no more than ${length(lag)} after it`
  return isBefore
    ? `it may come no more than ${length(lag)} after ${say.task(other)}, which ends ${say.end(other)}`
    : `${say.task(other)} of ${say.start(other)} comes ${lag > 0 ? `${length(lag)} after it` : 'after it'}`
}

function travelWords(g: AskGround, cause: Cause, side: Side, who: string, other: AskTask | undefined): string {
  const say = saying(g)
  const way = `${who} is ${length(cause.lagMin ?? 0)} on the way`
  if (!other) return way
  return side === 'notEarlier'
    ? `${way} from ${say.task(other)}, which ends ${say.end(other)}`
    : `${way} to ${say.task(other)}, which begins ${say.start(other)}`
}

function bookedWords(g: AskGround, task: AskTask, id: string | undefined, who: string): string {
  const say = saying(g)
  const unit = [...g.facts.machines, ...g.facts.vessels].find((u) => u.id === id)
  const booking = unit?.bookings
    .filter(
      (b) => Math.abs(minutesFrom(b.toAt, task.startAt)) < 1440 || Math.abs(minutesFrom(task.endAt, b.fromAt)) < 1440,
    )
    .sort((a, b) => Math.abs(minutesFrom(a.toAt, task.startAt)) - Math.abs(minutesFrom(b.toAt, task.startAt)))[0]
  return booking ? `${who} is booked until ${say.at(booking.toAt)}: ${booking.why}` : `${who} is taken`
}

function shiftWords(g: AskGround, task: AskTask, id: string | undefined, who: string): string {
  const { zone } = g.facts.cellar
  const on = dayOf(task.startAt, zone)
  const person = g.facts.people.find((p) => p.id === id)
  const shift = person && shiftsOf(person)({ on: on.toString(), weekday: on.dayOfWeek })
  if (!shift) return `${who} is off that day`
  return `${who} works ${clock(shift.startMin)}–${clock(shift.endMin)} that day`
}

const clock = (min: number) => `${String(Math.floor(min / 60)).padStart(2, '0')}:${String(min % 60).padStart(2, '0')}`

/** `06:30–08:30` of the name of a calendar of starts. */
function hoursOf(calendar: string | undefined): string {
  const spans = [...(calendar ?? '').matchAll(/(\d+)-(\d+)/g)].map(
    ([, a, b]) => `${clock(Number(a))}–${clock(Number(b))}`,
  )
  const days = /working days/.test(calendar ?? '') ? ' on working days' : ''
  return spans.length > 0 ? `at ${spans.join(' and ')}${days}` : `in its hours of the day${days}`
}

function factWords(g: AskGround, task: AskTask, kind: 'pin' | 'done'): string {
  const say = saying(g)
  const tick = ticksOf(g.facts.taskFacts.filter((f) => f.taskKey === task.key)).get(task.key)
  const fact = kind === 'pin' ? tick?.pin : (tick?.done ?? tick?.skipped ?? tick?.started)
  const by = fact?.personId ? ` by ${say.nameOf(fact.personId)}` : ''
  if (kind === 'pin') return fact ? `it was fixed there${by} on ${say.at(fact.at)}` : 'a person fixed it there'
  return `that is when it happened${by ? `, told${by}` : ''}`
}

/** The fact behind a moment before which there is nothing to do. */
function releaseWords(g: AskGround, task: AskTask): string {
  const say = saying(g)
  const lot = g.facts.lots.find((l) => l.id === task.lotId)
  if (task.step === 'receive' && lot)
    return `${lot.code} is picked on ${say.day(lot.pickOn)}: no fruit is on the pad before`
  if (Number(task.key.split('/')[2]) >= RAISED_FROM && task.lotId)
    return `it was asked for by a report or a reading of ${task.lotCode}`
  const dryAt = task.lotId ? g.plan.dryAt.get(task.lotId) : undefined
  if (task.step === 'check-dry' && dryAt) {
    const last = g.facts.readings
      .filter((r) => r.lotId === task.lotId && (r.kind === 'density' || r.kind === 'brix' || r.kind === 'sugar'))
      .at(-1)
    return `${task.lotCode} is forecast dry for ${say.at(dryAt)}${
      last ? `, from ${last.kind} ${last.value} read ${say.at(last.takenAt)}` : ''
    }`
  }
  return `its day does not begin before ${say.start(task)}`
}
