/** May this task start then? Links, bookings and shifts answer at once; the server has the last word before anything is kept. */
import { berthOf, judgeVessel } from './berth.ts'
import { dayIndex } from './days.ts'
import { eachTouching } from './interval.ts'
import { msOfWire } from './model.ts'
import { dayFull } from './room.ts'
import { type MoveRules, nameOf } from './rules.ts'
import { shiftSpan } from './shifts.ts'
import { onTheWay } from './way.ts'
import { afterPrev, type Bound, moveWindow, waitsOf } from './window.ts'
import type { TaskWire } from './wire.ts'

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

export function judgeMove(rules: MoveRules, wish: Wish, window = moveWindow(rules, wish.ix, wish.andFollows)): Verdict {
  const { model, words } = rules
  const { ix, startMs } = wish
  if (startMs < window.earliest.ms)
    return { level: 'no', words: `Too early: ${window.earliest.why}.`, nearestMs: window.earliest.ms }
  if (startMs > window.latest.ms)
    return { level: 'no', words: `Too late: ${sentence(window.latest.why)}`, nearestMs: window.latest.ms }
  const berth = wish.vessel === undefined ? undefined : berthOf(model, ix)
  const full = berth && judgeVessel(rules, berth, wish.vessel ?? '', startMs)
  return full ?? judgeSeat(rules, wish) ?? { level: 'fine', words: `Allowed until ${words.moment(window.latest.ms)}.` }
}

/** Whether vessels, machines and people are to be had then; nothing where they are. */
export function judgeSeat(rules: MoveRules, wish: Wish): Verdict | undefined {
  const { model } = rules
  const { ix, startMs } = wish
  const task = model.plan.tasks[ix] as TaskWire
  const endMs = startMs + (model.endMs[ix] as number) - (model.startMs[ix] as number)
  const units = wish.vessel === undefined ? [...task.machines, ...task.toVessels] : task.machines
  const taken = unitTaken(rules, units, ix, startMs, endMs)
  if (taken) return { level: 'no', words: taken.why, nearestMs: taken.ms }
  const crewEndMs = startMs + task.crewMin * 60_000
  const urged = softLag(rules, ix, startMs)
  if (urged) return { level: 'strained', words: urged }
  for (const id of wish.people ?? task.people) {
    const why = personAway(rules, id, ix, startMs, crewEndMs)
    if (why) return { level: 'strained', words: why }
  }
  const full = dayFull(rules, ix, startMs)
  return full === undefined ? undefined : { level: 'strained', words: full }
}

const sentence = (words: string): string => (/[.!?]$/.test(words) ? words : `${words}.`)

/** A link that is advice: its lag is told, and may be passed over. */
function softLag(rules: MoveRules, ix: number, startMs: number): string | undefined {
  for (const wait of waitsOf(rules.model, ix)) {
    if (!wait.soft) continue
    const { from, until } = afterPrev(rules, wait)
    if (from && startMs < from.ms) return `Better later: ${sentence(from.why)}`
    if (until && startMs > until.ms) return `Better sooner: ${sentence(until.why)}`
  }
  return undefined
}

function unitTaken(
  rules: MoveRules,
  units: readonly string[],
  ix: number,
  startMs: number,
  endMs: number,
): Bound | undefined {
  const { model, words } = rules
  const lotCode = model.plan.tasks[ix]?.lotCode
  for (const code of units) {
    const booking = rules.booked.get(code)?.find((b) => b.fromMs < endMs && b.toMs > startMs)
    if (booking)
      return { ms: booking.toMs, why: `${code} is booked until ${words.moment(booking.toMs)}: ${booking.why}.` }
  }
  for (const code of units) {
    const uses = rules.byMachine.get(code)
    if (!uses || !isSingle(rules, code)) continue
    let other: number | undefined
    eachTouching(
      uses,
      (i) => model.endMs[i] as number,
      startMs,
      endMs,
      (i) => {
        if (i !== ix && model.plan.tasks[i]?.lotCode !== lotCode && (model.endMs[i] as number) > startMs) other ??= i
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

/** Of a cold room, of bins or a chiller several tasks take a share; the server weighs those. */
const isSingle = (rules: MoveRules, code: string): boolean => {
  const machine = rules.model.plan.machines.find((m) => m.code === code)
  return (
    machine !== undefined &&
    machine.kind !== 'cold-room' &&
    machine.kind !== 'bins' &&
    machine.kind !== 'chiller' &&
    machine.kind !== 'warm-water'
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
  return other === undefined
    ? onTheWay(rules, person, ix, startMs, endMs)
    : `${person.name} has ${nameOf(model, other)} then.`
}
