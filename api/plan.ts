import { type CellarPace, cellarPace } from './cellar/ferment-prior.ts'
import type { FermentForecast } from './cellar/fermentation.ts'
import { calendarsFor, type FruitDays } from './protocol/calendars.ts'
import { daysOf, type Horizon } from './protocol/days.ts'
import type { Facts, Lot } from './protocol/facts.ts'
import { exactUntil, farFrom, type IsFar, type Standing, standingIn, standingOf } from './protocol/far.ts'
import { fermentOf, finishedOf } from './protocol/forecast.ts'
import { type Berthed, knownHolds } from './protocol/known.ts'
import { buildNetwork, type Network } from './protocol/network.ts'
import { lotOf, outrunLots, type Stood, slidTasks } from './protocol/outrun.ts'
import { type Ground, minOf, type Setting, type Span, settingOf } from './protocol/setting.ts'
import { seatedIn, travelBetween } from './protocol/sites.ts'
import { houseWork } from './protocol/stages/house.ts'
import { stepOf } from './protocol/steps.ts'
import { ticked } from './protocol/ticked.ts'
import { ticksOf } from './protocol/ticks.ts'
import { type Laid, pitchedAt, told } from './protocol/told.ts'
import type { CellarPlan, TaskPlan } from './protocol/types.ts'
import { unitsOf } from './protocol/units.ts'
import type { Part, Work } from './protocol/work.ts'
import { same } from './schedule/same.ts'
import { type Kept, scheduleNext } from './schedule/schedule.ts'
import type { Plan, Problem, Strength, Watch } from './schedule/types.ts'
import { dayOf, minutesFrom, Temporal, wallTimeAt } from './time.ts'

export type { Laid } from './protocol/told.ts'
export type { Kept } from './schedule/schedule.ts'

/** A task of the plan people know. */
export type Known = Pick<TaskPlan, 'key' | 'startAt' | 'endAt' | 'people' | 'machines'> &
  Berthed &
  Stood & { readonly broken?: TaskPlan['broken']; readonly grain?: TaskPlan['grain'] }

export interface PlanOptions {
  readonly nowAt: Temporal.Instant
  readonly seed?: number
  /** Schedules the search may build. */
  readonly moves?: number
  /** Hears how far the search has come. */
  readonly watch?: Watch
  /** Throws where nobody waits for the plan any more. Asked before each laying-out. */
  readonly goOn?: () => void
  /** The plan people know; kept where it can be. */
  readonly previous?: readonly Known[]
  /**
   * What the planning of this cellar before left ready, and where this one leaves it. It makes no difference to the
   * plan, only to how long it takes.
   */
  readonly kept?: Kept
}

/** Choices and facts become dates: build the networks, place them, say why. Pure; it never fails, it tells what is broken. */
export const planCellar = (facts: Facts, options: PlanOptions): CellarPlan =>
  told(layCellar(facts, options), facts, options.nowAt)

/** The same before it is put into words: the networks, the problem and where everything fell. */
export function layCellar(facts: Facts, options: PlanOptions): Laid {
  const lots = facts.lots.filter((lot) => !lot.endedAt && !lot.unplanned)
  const startAt = planStart(facts, lots, options.nowAt)
  const ground: Ground = {
    facts,
    startAt,
    nowAt: options.nowAt,
    ticks: ticksOf(facts.taskFacts),
    placed: NOWHERE,
    ...(options.previous ? { worked: new Map(options.previous.map((t) => [t.key, t.machines])) } : {}),
  }
  const pace = paceOf(ground)
  const forecasts = new Map(lots.map((lot) => [lot.id, forecastOf(lot, ground, pace)]))
  const edgeMin = exactUntil(facts, startAt, options.nowAt)
  const lay: Lay = (placed, lent) => layOut({ ...ground, placed }, lots, forecasts, options, lent)
  return options.previous
    ? laidFrom(options.previous, ground, options, edgeMin, lay)
    : firstLaid(options.kept ?? {}, edgeMin, lay)
}

/** Lays the lots out anew, counting repeats from where an earlier plan has them. */
type Lay = (placed: Ground['placed'], lent: Lent) => Laid

/** What an earlier laying-out lends to the next. */
interface Lent {
  readonly kept: Kept
  /** Its calendars, and the networks of lots that stand where they stood. */
  readonly before?: Laid
  readonly previous?: (parts: readonly Part[]) => NonNullable<Problem['previous']>
  readonly moves?: number
  /** Which open work is planned to the day. Absent: none. */
  readonly far?: IsFar
}

/** Times a first plan is looked at again before it is given out: repeats may still move with what they are counted from. */
const MOST_SETTLINGS = 3

/**
 * Repeats are counted from where the ferments and racks fall, so a plan is made to find them, then one that counts from
 * it, and this is taken over as known until planning again would change nothing.
 */
function firstLaid(kept: Kept, edgeMin: number, lay: Lay): Laid {
  const first = lay(NOWHERE, { kept: {}, moves: 0 })
  let laid = lay(spansOf(first.plan), { kept, before: first, far: farFrom(edgeMin, standingIn(first.plan, false)) })
  for (let k = 0; k < MOST_SETTLINGS; k++) {
    const known = knownFrom(laid.plan)
    // Nobody has been told anything yet; from the second look on it must come to rest.
    const far = farFrom(edgeMin, standingIn(laid.plan, k > 0))
    const again = lay(spansOf(laid.plan), { kept, before: laid, previous: () => known, far })
    const isSettled = sameStarts(laid.plan, again.plan)
    laid = again
    if (isSettled) break
  }
  return withCauses(laid, kept)
}

const NOWHERE: Ground['placed'] = new Map()

/** Times a plan is laid again because work changed its side of the edge with it. */
const MOST_SHARPENINGS = 2

/**
 * Lays the plan out, and once more where that brings work by the day in front of the edge, or finds new work beyond it:
 * what lies near has its hour and hands at once, not with the next plan.
 */
function sharpened(edgeMin: number, stood: Standing, lay: (far: IsFar) => Laid): Laid {
  let standing = stood
  let laid = lay(farFrom(edgeMin, standing))
  for (let k = 0; k < MOST_SHARPENINGS; k++) {
    const open = new Set(laid.problem.tasks.flatMap((t) => (t.done || t.started || t.pin ? [] : [t.key])))
    const wrong = laid.plan.placed.filter(
      (p) => open.has(p.key) && (p.byDay ? p.startMin < edgeMin : !stood.has(p.key) && p.startMin >= edgeMin),
    )
    if (wrong.length === 0) break
    standing = new Map([...standing, ...wrong.map((p) => [p.key, { startMin: p.startMin }] as const)])
    laid = lay(farFrom(edgeMin, standing))
  }
  return laid
}

/** The causes are looked up once it is sure where everything stands. */
const withCauses = (laid: Laid, kept: Kept): Laid => ({ ...laid, plan: kept.session?.plan() ?? laid.plan })

/** That a wish is not kept hides no limit that breaks beside it. */
const isHard = (rule: { readonly strength: Strength }): boolean => rule.strength === 'hard'

/** A plan as what people know. */
function knownFrom(plan: Plan): NonNullable<Problem['previous']> {
  const broken = new Map<string, string[]>()
  for (const rule of plan.broken.filter(isHard))
    for (const key of rule.tasks) broken.set(key, [...(broken.get(key) ?? []), rule.rule])
  return [
    ...plan.placed.map(({ key, startMin, people, units, byDay }) => ({
      key,
      startMin,
      people,
      units,
      ...(byDay ? { byDay } : {}),
      broken: broken.get(key) ?? [],
    })),
    ...plan.holds.map((h) => ({ key: h.key, startMin: h.fromMin, people: [], units: h.units })),
  ]
}

const sameStarts = (a: Plan, b: Plan): boolean =>
  a.placed.length === b.placed.length &&
  a.placed.every((p, i) => {
    const q = b.placed[i]!
    return p.key === q.key && p.startMin === q.startMin && p.byDay === q.byDay
  })

/** The known plan goes on; lots that outran it, and work counted back from a finish that moved, are laid anew. */
function laidFrom(known: readonly Known[], ground: Ground, options: PlanOptions, edgeMin: number, layOnce: Lay): Laid {
  const { startAt } = ground
  const kept = options.kept ?? {}
  const stood = standingOf(known, startAt)
  const lay: Lay = (placed, lent) => sharpened(edgeMin, stood, (far) => layOnce(placed, { ...lent, far }))
  const laid = lay(placedBefore(startAt, known), { kept, previous: knownPlan(known, startAt) })
  const fixed = new Set(ground.ticks.keys())
  const outrun = outrunLots(known, laid.plan.placed, fixed, startAt)
  const slid = slidTasks(known, laid.plan.placed, fixed, startAt, laid.problem.nowMin)
  if (outrun.size + slid.size === 0) return withCauses(laid, kept)
  const rest = known.filter((t) => !outrun.has(lotOf(t.key)) && !slid.has(t.key))
  const previous = knownPlan(rest, startAt)
  const first = lay(placedBefore(startAt, rest), { kept, before: laid, previous, moves: 0 })
  return withCauses(lay(spansOf(first.plan), { kept, before: first, previous }), kept)
}

function layOut(
  ground: Ground,
  lots: readonly Lot[],
  forecasts: ReadonlyMap<string, FermentForecast>,
  options: PlanOptions,
  { kept, before, previous, moves, far }: Lent,
): Laid {
  options.goOn?.()
  const { facts, startAt } = ground
  const stands = before ? unmovedLots(before.ground, ground) : () => false
  const built = lots.map((lot, k) => {
    const was = before?.lots[k]
    if (was && stands(lot.code)) return was
    const setting = settingOf(lot, ground)
    const network = buildNetwork(setting, forecasts.get(lot.id)!)
    return { lot, setting, network, tasks: tasksOf(network.works, ground, seatedIn(network, facts, setting.home)) }
  })
  const house = houseWork(ground)
  const parts: readonly Part[] = [...built.map((b) => b.network), house]
  const works = parts.flatMap((p) => p.works)
  const untilAt = horizonEnd(
    facts,
    built.map((b) => b.network),
    options.nowAt,
  )
  const horizon: Horizon = { startAt, untilAt, zone: facts.cellar.zone }
  const people = facts.people.filter((p) => p.role !== 'viewer')
  const starts = new Set(works.flatMap((w) => w.task.startCalendar ?? []))
  const horizonMin = minutesFrom(startAt, untilAt)
  const laidOut = before?.problem.horizonMin === horizonMin ? before.problem.calendars : undefined
  const known = laidOut && [...starts].every((id) => id in laidOut) ? laidOut : undefined
  const tasks = [...built.flatMap((b) => b.tasks), ...tasksOf(house.works, ground)]
  const problem: Problem = {
    nowMin: minutesFrom(startAt, options.nowAt),
    horizonMin,
    tasks: far ? tasks.map((t) => (far(t) ? { ...t, byDay: true } : t)) : tasks,
    links: parts.flatMap((p) => p.links),
    holds: parts.flatMap((p) => p.holds),
    people: people.map((p) => ({ id: p.id, skills: p.skills, calendar: `shift ${p.id}` })),
    units: unitsOf(facts, startAt),
    calendars: known ?? calendarsFor(facts, people, starts, fruitDays(built.map((b) => b.setting)), horizon),
    ...(facts.cellar.exactWeeks === undefined ? {} : { days: daysOf(horizon).map((day) => day.startMin) }),
    ...(facts.cellar.sites?.length ? { travel: travelBetween(facts.cellar.sites) } : {}),
    ...(previous ? { previous: previous(parts) } : {}),
    seed: options.seed ?? 1,
    moves: moves ?? options.moves ?? 1,
  }
  return { ground, lots: built, works, problem, plan: scheduleNext(kept, problem, options.watch, true) }
}

const tasksOf = (works: readonly Work[], { facts, ticks, startAt }: Ground, seat = (w: Work) => w.task) =>
  works.map((w) => ticked({ ...seat(w), ...preferred(w, facts) }, ticks.get(w.task.key), startAt))

/** Which lots' work stands where it stood: their networks are the same, since a lot counts from its own work alone. */
function unmovedLots(before: Ground, now: Ground): (code: string) => boolean {
  const was = spansByLot(before.placed)
  const is = spansByLot(now.placed)
  return (code) => same(was.get(code), is.get(code))
}

function spansByLot(placed: Ground['placed']): ReadonlyMap<string, Readonly<Record<string, Span>>> {
  const lots = new Map<string, Record<string, Span>>()
  for (const [key, span] of placed) {
    const lot = lots.get(lotOf(key)) ?? {}
    lots.set(lotOf(key), lot)
    lot[key] = span
  }
  return lots
}

/** The plan people know in minutes: tasks with their people and machines, holds with their vessels. */
function knownPlan(previous: readonly Known[], startAt: Temporal.Instant): NonNullable<Lent['previous']> {
  const byKey = new Map(previous.map((t) => [t.key, t]))
  return (parts) => [
    ...previous.map((t) => ({
      key: t.key,
      startMin: minutesFrom(startAt, t.startAt),
      people: t.people,
      units: t.machines,
      ...(t.grain === 'day' ? { byDay: true as const } : {}),
      ...(t.broken ? { broken: t.broken.filter(isHard).map((b) => b.rule) } : {}),
    })),
    ...parts.flatMap((p) => knownHolds(p.holds, p.works, byKey)),
  ]
}

/** Work on a pick day goes from an hour before the fruit until the press is washed. */
function fruitDays(settings: readonly Setting[]): FruitDays {
  const days = new Map<string, { fromMin: number; untilMin: number }>()
  for (const s of settings) {
    const { pickMode, pickHour } = s.choices
    const fromMin = pickHour * 60 + (pickMode === 'machine' ? 150 : 30) - 75
    const key = s.lot.pickOn.toString()
    const known = days.get(key)
    days.set(key, { fromMin: Math.min(fromMin, known?.fromMin ?? fromMin), untilMin: LAST_PRESS_MIN })
  }
  return days
}

/** A late press is washed by 23:00. Common practice. */
const LAST_PRESS_MIN = 23 * 60

/** Midnight before anything that is known: samples four weeks before the first pick, the first tick, the first booking. */
function planStart(facts: Facts, lots: readonly Lot[], nowAt: Temporal.Instant): Temporal.Instant {
  const zone = facts.cellar.zone
  const moments = [
    nowAt,
    ...lots.map((lot) => wallTimeAt(lot.pickOn.subtract({ days: 30 }), 0, zone)),
    ...facts.taskFacts.flatMap((f) => [f.at, ...(f.startAt ? [f.startAt] : [])]),
  ]
  const first = moments.reduce((a, b) => (Temporal.Instant.compare(a, b) <= 0 ? a : b))
  return wallTimeAt(dayOf(first, zone).subtract({ days: 1 }), 0, zone)
}

function horizonEnd(facts: Facts, networks: readonly Network[], nowAt: Temporal.Instant): Temporal.Instant {
  const zone = facts.cellar.zone
  const days = [dayOf(nowAt, zone).add({ days: 30 }), ...networks.map((n) => n.dates.finishOn.add({ days: 60 }))]
  return wallTimeAt(
    days.reduce((a, b) => (Temporal.PlainDate.compare(a, b) >= 0 ? a : b)),
    0,
    zone,
  )
}

function placedBefore(startAt: Temporal.Instant, known: readonly Known[]): ReadonlyMap<string, Span> {
  return new Map(
    known.map((t) => [t.key, { startMin: minutesFrom(startAt, t.startAt), endMin: minutesFrom(startAt, t.endAt) }]),
  )
}

const spansOf = (plan: Plan): ReadonlyMap<string, Span> =>
  new Map(plan.placed.map((p) => [p.key, { startMin: p.startMin, endMin: p.endMin }]))

function forecastOf(lot: Lot, ground: Ground, pace: CellarPace | undefined): FermentForecast {
  const s = settingOf(lot, ground)
  const pitched = pitchedAt(lot, ground)
  return fermentOf(s, pitched && minOf(s, pitched), pace)
}

/** What the ferments finished here say of those to come; nothing before the first. */
function paceOf(ground: Ground): CellarPace | undefined {
  const finished = ground.facts.lots.flatMap((lot) => {
    const s = settingOf(lot, ground)
    const pitched = pitchedAt(lot, ground)
    return (pitched && finishedOf(s, minOf(s, pitched))) ?? []
  })
  return finished.length === 0 ? undefined : cellarPace(finished)
}

function preferred(w: Work, facts: Facts): { readonly prefer?: readonly string[] } {
  const step = stepOf(w.step)
  const wanted = [...(step.prefers ?? []), ...(step.skills.includes('press') ? ['press'] : [])]
  const prefer = facts.people.filter((p) => wanted.some((skill) => p.skills.includes(skill))).map((p) => p.id)
  return prefer.length > 0 && prefer.length < facts.people.length ? { prefer } : {}
}
