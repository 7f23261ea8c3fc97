/** May this task start then? Links, bookings and shifts answer at once; the server has the last word before anything is kept. */
import { berthOf, judgeVessel } from './berth.ts'
import { type Days, dayIndex } from './days.ts'
import { eachTouching, type Intervals, indexIntervals } from './interval.ts'
import { later } from './later.ts'
import { type Model, msOfWire, neighboursOf } from './model.ts'
import type { Span } from './rows.ts'
import { shiftSpan } from './shifts.ts'
import type { PersonWire, TaskWire } from './wire.ts'
import type { Words } from './words.ts'

export interface MoveRules {
  readonly model: Model
  readonly days: Days
  readonly words: Words
  readonly nowMs: number
  readonly byPerson: ReadonlyMap<string, Intervals>
  readonly byMachine: ReadonlyMap<string, Intervals>
  readonly people: ReadonlyMap<string, PersonWire>
  readonly booked: ReadonlyMap<string, readonly Span[]>
}

export interface Bound {
  readonly ms: number
  readonly why: string
}

export interface MoveWindow {
  readonly earliest: Bound
  readonly latest: Bound
}

export interface Verdict {
  /** fine: every rule holds. strained: people would have to change. no: a link, a limit or a booking forbids it. */
  readonly level: 'fine' | 'strained' | 'no'
  readonly words: string
  readonly nearestMs?: number
}

export interface Wish {
  readonly ix: number
  readonly startMs: number
  /** What follows moves along, so it sets no limit. */
  readonly andFollows: boolean
  readonly people?: readonly string[]
  /** Into this vessel instead of the one it goes to now. */
  readonly vessel?: string
}

export function moveRules(model: Model, days: Days, words: Words, nowMs: number): MoveRules {
  const gather = (of: (task: TaskWire) => readonly string[]): ReadonlyMap<string, Intervals> => {
    const lists = new Map<string, number[]>()
    model.plan.tasks.forEach((task, ix) => {
      if (task.state === 'done' || task.state === 'skipped' || task.state === 'cancelled') return
      for (const id of of(task)) {
        const list = lists.get(id)
        if (list) list.push(ix)
        else lists.set(id, [ix])
      }
    })
    return new Map(
      [...lists].map(([id, list]) => [
        id,
        indexIntervals(
          list,
          (i) => model.startMs[i] as number,
          (i) => model.endMs[i] as number,
        ),
      ]),
    )
  }
  const spans = (
    bookings: readonly { readonly fromAt: string; readonly toAt: string; readonly why: string }[],
  ): Span[] => bookings.map((b) => ({ fromMs: msOfWire(b.fromAt), toMs: msOfWire(b.toAt), why: b.why }))
  // Made when the first hand takes hold, not when the season opens.
  const byPerson = later(() => gather((t) => t.people))
  const byMachine = later(() => gather((t) => t.machines))
  return {
    model,
    days,
    words,
    nowMs,
    get byPerson() {
      return byPerson()
    },
    get byMachine() {
      return byMachine()
    },
    people: new Map(model.plan.people.map((p) => [p.id, p])),
    booked: new Map([...model.plan.machines, ...model.plan.vessels].map((unit) => [unit.code, spans(unit.bookings)])),
  }
}

/** What the task waits for and what waits for it, as they stand now. */
export function moveWindow(rules: MoveRules, ix: number, andFollows: boolean): MoveWindow {
  const { model, words } = rules
  const task = model.plan.tasks[ix] as TaskWire
  const lengthMs = (model.endMs[ix] as number) - (model.startMs[ix] as number)
  let earliest: Bound = { ms: msOfWire(task.earliestAt), why: 'its links allow no earlier start' }
  let latest: Bound = { ms: msOfWire(task.latestAt), why: task.whyNotLater || 'its links allow no later start' }
  const later = (ms: number, why: string) => {
    // Of two equal bounds the named link tells more.
    if (ms >= earliest.ms) earliest = { ms, why }
  }
  for (const prev of neighboursOf(model.prev, ix)) {
    const name = nameOf(model, prev)
    // Work that now starts before the other ends streams along with it: it waits for the start, not the end.
    if ((model.startMs[ix] as number) >= (model.endMs[prev] as number))
      later(model.endMs[prev] as number, `${name} ends ${words.moment(model.endMs[prev] as number)}`)
    else later(model.startMs[prev] as number, `${name} starts ${words.moment(model.startMs[prev] as number)}`)
  }
  if (rules.nowMs > earliest.ms) earliest = { ms: rules.nowMs, why: 'that is past' }
  if (!andFollows)
    for (const next of neighboursOf(model.next, ix)) {
      const streams = (model.startMs[next] as number) < (model.endMs[ix] as number)
      const ms = (model.startMs[next] as number) - (streams ? 0 : lengthMs)
      if (ms < latest.ms)
        latest = { ms, why: `${nameOf(model, next)} follows ${words.moment(model.startMs[next] as number)}` }
    }
  return { earliest, latest: latest.ms < earliest.ms ? { ...latest, ms: earliest.ms } : latest }
}

export function judgeMove(rules: MoveRules, wish: Wish, window = moveWindow(rules, wish.ix, wish.andFollows)): Verdict {
  const { model, words } = rules
  const { ix, startMs } = wish
  const task = model.plan.tasks[ix] as TaskWire
  if (startMs < window.earliest.ms)
    return { level: 'no', words: `Too early: ${window.earliest.why}.`, nearestMs: window.earliest.ms }
  if (startMs > window.latest.ms)
    return { level: 'no', words: `Too late: ${sentence(window.latest.why)}`, nearestMs: window.latest.ms }
  const endMs = startMs + (model.endMs[ix] as number) - (model.startMs[ix] as number)
  const berth = wish.vessel === undefined ? undefined : berthOf(model, ix)
  const full = berth && judgeVessel(rules, berth, wish.vessel ?? '', startMs)
  if (full) return full
  const taken = unitTaken(rules, task, ix, startMs, endMs)
  if (taken) return { level: 'no', words: taken.why, nearestMs: taken.ms }
  const crewEndMs = startMs + task.crewMin * 60_000
  for (const id of wish.people ?? task.people) {
    const why = personAway(rules, id, ix, startMs, crewEndMs)
    if (why) return { level: 'strained', words: why }
  }
  return { level: 'fine', words: `Allowed until ${words.moment(window.latest.ms)}.` }
}

const sentence = (words: string): string => (/[.!?]$/.test(words) ? words : `${words}.`)

function unitTaken(rules: MoveRules, task: TaskWire, ix: number, startMs: number, endMs: number): Bound | undefined {
  const { model, words } = rules
  const units = [...task.machines, ...task.toVessels]
  for (const code of units) {
    const booking = rules.booked.get(code)?.find((b) => b.fromMs < endMs && b.toMs > startMs)
    if (booking)
      return { ms: booking.toMs, why: `${code} is booked until ${words.moment(booking.toMs)}: ${booking.why}.` }
  }
  for (const code of task.machines) {
    const uses = rules.byMachine.get(code)
    if (!uses || !isSingle(rules, code)) continue
    let other: number | undefined
    eachTouching(
      uses,
      (i) => model.endMs[i] as number,
      startMs,
      endMs,
      (i) => {
        if (i !== ix && model.plan.tasks[i]?.lotCode !== task.lotCode && (model.endMs[i] as number) > startMs)
          other ??= i
      },
    )
    if (other !== undefined)
      return {
        ms: model.endMs[other] as number,
        why: `${code} is taken by ${nameOf(model, other)} until ${words.moment(model.endMs[other] as number)}.`,
      }
  }
  return undefined
}

/** Of a cold room or a chiller several tasks take a share; the server weighs those. */
const isSingle = (rules: MoveRules, code: string): boolean => {
  const machine = rules.model.plan.machines.find((m) => m.code === code)
  return (
    machine !== undefined && machine.kind !== 'cold-room' && machine.kind !== 'chiller' && machine.kind !== 'warm-water'
  )
}

function personAway(rules: MoveRules, id: string, ix: number, startMs: number, endMs: number): string | undefined {
  const { model, days, words } = rules
  const person = rules.people.get(id)
  if (!person) return undefined
  const day = dayIndex(days, startMs)
  const inside = [day - 1, day].some((i) => {
    const shift = i >= 0 ? shiftSpan(person, days, i) : undefined
    return shift !== undefined && shift.fromMs <= startMs && endMs <= shift.toMs
  })
  if (!inside) {
    const shift = shiftSpan(person, days, day)
    return shift
      ? `Outside ${person.name}'s shift, ${words.time(shift.fromMs)} to ${words.time(shift.toMs)}.`
      : `${person.name} does not work that day.`
  }
  const absence = person.absences.find((a) => msOfWire(a.fromAt) < endMs && msOfWire(a.toAt) > startMs)
  if (absence) return `${person.name} is away: ${absence.reason}.`
  const tasks = rules.byPerson.get(id)
  let other: number | undefined
  if (tasks)
    eachTouching(
      tasks,
      (i) => (model.startMs[i] as number) + (model.plan.tasks[i]?.crewMin ?? 0) * 60_000,
      startMs,
      endMs,
      (i) => {
        if (i !== ix) other ??= i
      },
    )
  return other === undefined ? undefined : `${person.name} has ${nameOf(model, other)} then.`
}

export function nameOf(model: Model, ix: number): string {
  const task = model.plan.tasks[ix] as TaskWire
  return task.lotId === null ? task.name : `${task.name} (${task.lotCode})`
}
