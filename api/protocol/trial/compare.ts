/** Two plans of one cellar in numbers: as it stands, and as it would be. */
import { dayOf, minutesFrom, Temporal } from '../../time.ts'
import { shiftsOf } from '../calendars.ts'
import { covered } from '../covered.ts'
import { type ColdGround, type ColdPlan, demandOf, poolAt } from '../demand-of.ts'
import type { Person } from '../facts.ts'
import { isElsewhere } from '../moved.ts'
import { stepOf } from '../steps.ts'
import type { BrokenWords, Grain } from '../types.ts'

export interface ComparedTask {
  readonly key: string
  readonly lotId: string | null
  readonly lotCode: string
  readonly step: string
  readonly state: ColdPlan['tasks'][number]['state']
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  readonly grain: Grain
  readonly people: readonly string[]
  readonly crewMin: number
  /** Machine ids. */
  readonly machines: readonly string[]
}

export interface ComparedPlan extends ColdPlan {
  readonly tasks: readonly ComparedTask[]
  readonly broken: readonly BrokenWords[]
  readonly dryAt: ReadonlyMap<string, Temporal.Instant>
}

/** The cellar a plan is of: a trial may have other people, machines and lots. */
export interface ComparedGround extends ColdGround {
  readonly zone: string
  readonly people: readonly Person[]
  readonly presses: readonly { readonly id: string; readonly code: string }[]
}

export interface Pair<T> {
  readonly before: T
  readonly after: T
}

export interface Compared {
  readonly moved: number
  readonly added: number
  readonly gone: number
  readonly byLot: readonly { readonly lotCode: string; readonly moved: number; readonly largestShiftMin: number }[]
  readonly byDay: readonly { readonly on: string; readonly moved: number }[]
  /** Work of the next 14 days, minutes. */
  readonly byPerson: readonly ({ readonly personId: string } & Pair<number>)[]
  readonly lateTasks: Pair<number>
  readonly brokenHard: Pair<number>
  readonly brokenSoft: Pair<number>
  /** Rules that the trial breaks and the plan keeps; and the other way round. */
  readonly freshBroken: readonly string[]
  readonly mendedBroken: readonly string[]
  /** Minutes of work outside people's own shifts, the next 14 days. */
  readonly overtimeMin: Pair<number>
  /** The fullest day of a press within 31 days. */
  readonly press: Pair<{ readonly on: string; readonly code: string; readonly hours: number } | null>
  /** The most cold asked for in an hour within 31 days, and what the chillers fall short of in all. */
  readonly cooling: Pair<{ readonly kW: number; readonly at: string; readonly shortKWh: number }>
  readonly finish: readonly {
    readonly lotCode: string
    readonly dry: Pair<string | null>
    readonly finish: Pair<string | null>
  }[]
}

const NEAR_DAYS = 14
const COLD_HOURS = 31 * 24

export function compare(
  before: ComparedPlan,
  after: ComparedPlan,
  grounds: Pair<ComparedGround>,
  nowAt: Temporal.Instant,
): Compared {
  const { zone } = grounds.before
  const open = (plan: ComparedPlan) => new Map(plan.tasks.filter((t) => t.state !== 'cancelled').map((t) => [t.key, t]))
  const old = open(before)
  const next = open(after)
  const moves = [...next.values()].flatMap((t) => {
    const was = old.get(t.key)
    return was && was.state !== 'done' && differs(was, t, zone) ? [{ was, t }] : []
  })
  const both = <T>(of: (plan: ComparedPlan, ground: ComparedGround) => T): Pair<T> => ({
    before: of(before, grounds.before),
    after: of(after, grounds.after),
  })
  const broken = both((plan) => new Map(plan.broken.map((b) => [[b.rule, ...b.taskKeys].join(' '), b.words])))
  const work = both((plan) => workMin(plan, nowAt))
  return {
    moved: moves.length,
    added: [...next.keys()].filter((key) => !old.has(key)).length,
    gone: [...old.values()].filter((t) => !next.has(t.key) && t.state !== 'done' && t.state !== 'skipped').length,
    byLot: tally(moves, ({ t }) => t.lotCode).map(([lotCode, list]) => ({
      lotCode,
      moved: list.length,
      largestShiftMin: list.map(({ was, t }) => minutesFrom(was.startAt, t.startAt)).reduce(larger, 0),
    })),
    byDay: tally(moves, ({ was }) => dayOf(was.startAt, zone).toString()).map(([on, list]) => ({
      on,
      moved: list.length,
    })),
    byPerson: grounds.after.people
      .map((p) => ({ personId: p.id, before: work.before.get(p.id) ?? 0, after: work.after.get(p.id) ?? 0 }))
      .filter((p) => p.before > 0 || p.after > 0),
    lateTasks: both((plan) => plan.broken.filter((b) => b.rule === 'after-due' || b.rule === 'link-too-long').length),
    brokenHard: both((plan) => plan.broken.filter((b) => b.strength === 'hard').length),
    brokenSoft: both((plan) => plan.broken.filter((b) => b.strength === 'soft').length),
    freshBroken: [...broken.after].filter(([sign]) => !broken.before.has(sign)).map(([, words]) => words),
    mendedBroken: [...broken.before].filter(([sign]) => !broken.after.has(sign)).map(([, words]) => words),
    overtimeMin: both((plan, ground) => overtimeMin(plan, ground, nowAt)),
    press: both((plan, ground) => fullestPress(plan, ground, nowAt)),
    cooling: both((plan, ground) => coldest(plan, ground, nowAt)),
    finish: finishes(before, after),
  }
}

/** Work that gets its hour and hands on the day it stood is not moved. */
const differs = (a: ComparedTask, b: ComparedTask, zone: string): boolean =>
  isElsewhere(a, b, zone) || (a.grain === b.grain && a.people.join() !== b.people.join())

const larger = (a: number, b: number): number => (Math.abs(b) > Math.abs(a) ? b : a)

function tally<T>(list: readonly T[], by: (one: T) => string): (readonly [string, readonly T[]])[] {
  const groups = new Map<string, T[]>()
  for (const one of list) groups.set(by(one), [...(groups.get(by(one)) ?? []), one])
  return [...groups].sort(([a], [b]) => (a < b ? -1 : 1))
}

const isNear = (t: ComparedTask, nowAt: Temporal.Instant, days: number): boolean =>
  t.state !== 'done' &&
  t.state !== 'skipped' &&
  t.state !== 'cancelled' &&
  minutesFrom(nowAt, t.startAt) >= 0 &&
  minutesFrom(nowAt, t.startAt) < days * 1440

function workMin(plan: ComparedPlan, nowAt: Temporal.Instant): ReadonlyMap<string, number> {
  const spans = new Map<string, [from: number, to: number][]>()
  for (const t of plan.tasks) {
    if (!isNear(t, nowAt, NEAR_DAYS) || t.crewMin === 0) continue
    const from = minutesFrom(nowAt, t.startAt)
    for (const id of t.people) spans.set(id, [...(spans.get(id) ?? []), [from, from + t.crewMin]])
  }
  return new Map([...spans].map(([id, list]) => [id, covered(list)]))
}

/** Work that pauses with its people is never over hours; what is begun within a shift and ends past it is. */
function overtimeMin(plan: ComparedPlan, ground: ComparedGround, nowAt: Temporal.Instant): number {
  const shifts = new Map(ground.people.map((p) => [p.id, shiftsOf(p)]))
  let sum = 0
  for (const t of plan.tasks) {
    if (!isNear(t, nowAt, NEAR_DAYS) || t.crewMin === 0 || pauses(t)) continue
    const wall = t.startAt.toZonedDateTimeISO(ground.zone)
    const on = wall.toPlainDate()
    const from = wall.hour * 60 + wall.minute
    for (const id of t.people) {
      const shift = shifts.get(id)?.({ on: on.toString(), weekday: on.dayOfWeek })
      const to = from + t.crewMin
      const inside = shift ? Math.max(0, Math.min(to, shift.endMin) - Math.max(from, shift.startMin)) : 0
      sum += t.crewMin - inside
    }
  }
  return Math.round(sum)
}

const LONG_MIN = 240
const pauses = (t: ComparedTask): boolean => t.crewMin > LONG_MIN && stepOf(t.step).interruptible

function fullestPress(
  plan: ComparedPlan,
  ground: ComparedGround,
  nowAt: Temporal.Instant,
): Compared['press']['before'] {
  const hours = new Map<string, number>()
  for (const t of plan.tasks) {
    if (!isNear(t, nowAt, 31)) continue
    for (const press of ground.presses.filter((p) => t.machines.includes(p.id))) {
      const day = `${dayOf(t.startAt, ground.zone)} ${press.code}`
      hours.set(day, (hours.get(day) ?? 0) + minutesFrom(t.startAt, t.endAt) / 60)
    }
  }
  const [most] = [...hours].sort(([a, x], [b, y]) => y - x || (a < b ? -1 : 1))
  if (!most) return null
  const [on = '', code = ''] = most[0].split(' ')
  return { on, code, hours: Math.round(most[1] * 10) / 10 }
}

function coldest(plan: ComparedPlan, ground: ComparedGround, nowAt: Temporal.Instant): Compared['cooling']['before'] {
  const fromAt = nowAt.round({ smallestUnit: 'hour', roundingMode: 'floor' })
  const hours = demandOf(plan, ground, fromAt, COLD_HOURS)
  const most = hours.reduce((a, b) => (b.coolingKW > a.coolingKW ? b : a))
  const short = hours.reduce((sum, h) => sum + Math.max(0, h.coolingKW - poolAt(ground.machines, h.at)), 0)
  return { kW: most.coolingKW, at: most.at.toString(), shortKWh: Math.round(short * 10) / 10 }
}

function finishes(before: ComparedPlan, after: ComparedPlan): Compared['finish'] {
  const lots = new Map<string, string>()
  for (const t of [...before.tasks, ...after.tasks]) if (t.lotId) lots.set(t.lotCode, t.lotId)
  const text = (at: Temporal.Instant | undefined) => at?.toString() ?? null
  return [...lots]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([lotCode, lotId]) => ({
      lotCode,
      dry: { before: text(before.dryAt.get(lotId)), after: text(after.dryAt.get(lotId)) },
      finish: { before: text(finishOf(before, lotCode)), after: text(finishOf(after, lotCode)) },
    }))
}

/** The last work of the finish: release, or filling and what stands for it. */
function finishOf(plan: ComparedPlan, lotCode: string): Temporal.Instant | undefined {
  const own = plan.tasks.filter((t) => t.lotCode === lotCode && t.state !== 'cancelled' && t.state !== 'skipped')
  const last = (list: readonly ComparedTask[]) =>
    list
      .map((t) => t.endAt)
      .reduce<Temporal.Instant | undefined>((a, b) => (!a || Temporal.Instant.compare(b, a) > 0 ? b : a), undefined)
  return last(own.filter((t) => stepOf(t.step).stage === 'finishing')) ?? last(own)
}
