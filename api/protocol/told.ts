import type { BrokenRule, Hold, Link, Placed, PlacedHold, Plan, Problem, Task } from '../schedule/types.ts'
import { dayOf, minutesFrom, momentAt, Temporal, wallTimeAt } from '../time.ts'
import { isAway } from './calendars.ts'
import type { Facts, Lot } from './facts.ts'
import { conflictsOf } from './judged.ts'
import type { Network } from './network.ts'
import { phasesOf } from './phases.ts'
import { DAY, type Ground, minOf, type Setting } from './setting.ts'
import { isOfMachine } from './stages/stores.ts'
import { stepOf } from './steps.ts'
import type { BrokenWords, CellarPlan, ConflictFound, TaskPlan, TaskState, Wait } from './types.ts'
import { watchOf } from './watch.ts'
import { brokenWords, type Speech, whyNotEarlier, whyNotLater } from './words.ts'
import type { Work } from './work.ts'

export interface LaidLot {
  readonly lot: Lot
  readonly setting: Setting
  readonly network: Network
  /** Its work with what was ticked and pinned. */
  readonly tasks: readonly Task[]
}

/** Networks, the problem they make and where everything fell: a plan before it is put into words. */
export interface Laid {
  readonly ground: Ground
  readonly lots: readonly LaidLot[]
  readonly works: readonly Work[]
  readonly problem: Problem
  readonly plan: Plan
}

/** The plan in the cellar's words. */
export function told(laid: Laid, facts: Facts, nowAt: Temporal.Instant): CellarPlan {
  const { ground, works, plan } = laid
  const { zone } = facts.cellar
  const seats = new Map(plan.placed.map((p) => [p.key, p]))
  const berths = new Map(plan.holds.map((h) => [h.key, h.units]))
  const speech = speechOf(laid, facts, seats)
  const conflicts = laid.lots.flatMap(({ setting, network }) => conflictsOf(setting, facts, network))
  const broken: readonly BrokenWords[] = [
    ...plan.broken.map((b) => ({
      rule: b.rule,
      strength: b.strength,
      taskKeys: b.tasks,
      words: brokenWords(b, speech),
    })),
    ...wishesUnmet(laid, facts, berths, speech),
  ]
  const side: Side = {
    laid,
    facts,
    seats,
    stays: new Map(plan.holds.map((h) => [h.key, h])),
    speech,
    conflicts,
    broken: byTask(broken),
    rules: byTask(plan.broken.map((b) => ({ ...b, taskKeys: b.tasks }))),
    around: neighbours(laid.problem),
    lots: new Map(laid.lots.map(({ lot }) => [lot.code, lot])),
    crews: new Map(laid.problem.tasks.map((t) => [t.key, t.crew])),
    siteOf: new Map(
      laid.problem.tasks.flatMap((t) => {
        const site = facts.cellar.sites?.[(t.site ?? 0) - 1]
        return site ? [[t.key, site.name]] : []
      }),
    ),
    machineStays: machineStays(laid),
    dayEndsMin: minutesFrom(ground.startAt, wallTimeAt(dayOf(nowAt, zone).add({ days: 1 }), 0, zone)),
  }
  return {
    tasks: works.map((w) => taskPlan(w, side)).sort(byStart),
    phases: laid.lots.flatMap(({ lot, network }) => phasesOf({ lot, network, startAt: ground.startAt, seats, berths })),
    conflicts,
    broken,
    forecasts: laid.lots.map((one) => forecastTold(one, ground)),
  }
}

/** A vessel that a person wanted and that was not to be had: full, or too small for what is there now. */
function wishesUnmet(
  laid: Laid,
  facts: Facts,
  berths: ReadonlyMap<string, readonly string[]>,
  speech: Speech,
): readonly BrokenWords[] {
  const codeOf = (ids: readonly string[]) =>
    ids.map((id) => facts.vessels.find((v) => v.id === id)?.code ?? id).join(', ')
  return laid.lots.flatMap(({ lot }) =>
    Object.entries(lot.vesselPins).flatMap(([name, wanted]) => {
      const holds = laid.problem.holds.filter((h) => h.group === lot.code && nameOf(h.key) === name)
      const got = holds.flatMap((h) => berths.get(h.key) ?? [])
      const from = holds[0]?.from.task
      // Wine is not racked into the vessel it lies in.
      const stays = name === 'store' && wanted.every((id) => lot.vesselPins.ferment?.includes(id))
      if (wanted.length === 0 || stays || from === undefined || got.some((id) => wanted.includes(id))) return []
      const where = got.length > 0 ? `is planned in ${codeOf(got)}` : 'has no vessel'
      const words = `${speech.taskOf(from)}: the wine ${where}, not in ${codeOf(wanted)} as wanted`
      return [{ rule: 'vessel-wish', strength: 'soft' as const, taskKeys: [from], words }]
    }),
  )
}

/** `store` of `L01/store-2`. */
const nameOf = (hold: string): string => (hold.split('/')[1] ?? '').replace(/-\d+$/, '')

interface Side {
  readonly laid: Laid
  readonly facts: Facts
  readonly seats: ReadonlyMap<string, Placed>
  readonly stays: ReadonlyMap<string, PlacedHold>
  readonly speech: Speech
  readonly conflicts: readonly ConflictFound[]
  readonly broken: ReadonlyMap<string, readonly BrokenWords[]>
  readonly rules: ReadonlyMap<string, readonly BrokenRule[]>
  readonly around: Neighbours
  readonly lots: ReadonlyMap<string, Lot>
  /** People that each task asks for. */
  readonly crews: ReadonlyMap<string, number>
  /** Names of sites away from the cellar itself, of the work that is done there. */
  readonly siteOf: ReadonlyMap<string, string>
  readonly machineStays: ReadonlyMap<string, readonly MachineStay[]>
  /** End of today, minutes from plan start. */
  readonly dayEndsMin: number
}

function taskPlan(w: Work, side: Side): TaskPlan {
  const { laid, speech } = side
  const { startAt } = laid.ground
  const step = stepOf(w.step)
  const seat = side.seats.get(w.task.key)!
  const leader = w.crewOf ? side.seats.get(w.crewOf) : undefined
  const tick = laid.ground.ticks.get(w.task.key)
  const lot = side.lots.get(w.task.group)
  const site = side.siteOf.get(w.task.key)
  const at = (min: number) => momentAt(startAt, Math.round(min))
  // Of the vessels the wine passes through, those it is in as the work begins.
  const vessels = (keys: readonly string[]) => {
    const held = keys.flatMap((key) => side.stays.get(key) ?? [])
    const now = held.filter((h) => h.fromMin <= seat.startMin && seat.startMin < h.toMin)
    return [...new Set((now.length > 0 ? now : held).flatMap((h) => h.units))]
  }
  const kept = (side.machineStays.get(w.task.group) ?? [])
    .filter(({ hold }) => takesPart(w, hold))
    .flatMap((h) => h.units)
  const spread = w.task.spread
  const people = seat.byDay ? [] : leader ? leader.people : seat.people
  const happened = tick?.done !== undefined || tick?.skipped !== undefined
  return {
    key: w.task.key,
    lotId: lot?.id ?? null,
    lotCode: w.task.group,
    step: w.step,
    count: w.count,
    family: step.family,
    name: w.name,
    detail: w.detail,
    startAt: at(seat.startMin),
    endAt: at(seat.endMin),
    grain: seat.byDay ? 'day' : 'minute',
    crewMin: leader ? Math.min(seat.endMin - seat.startMin, w.streamMin ?? Infinity) : w.task.crewMin,
    people: happened || tick?.started ? people : people.filter((id) => !isGone(side.facts, id, at(seat.startMin))),
    crew: leader ? (leader.byDay ? (side.crews.get(leader.key) ?? 0) : leader.people.length) : w.task.crew,
    ...(leader ? { streams: true } : {}),
    ...(site === undefined ? {} : { site }),
    fromVessels: w.at ?? vessels(w.from),
    toVessels: vessels(w.to),
    machines: [...new Set([...kept, ...seat.units])],
    ...(w.volumeL > 0 ? { volumeL: Math.round(w.volumeL) } : {}),
    state: stateOf(w, side, seat),
    earliestAt: at(Math.min(seat.earliestMin, seat.startMin)),
    latestAt: at(Math.max(seat.latestMin, seat.startMin)),
    slackMin: Math.round(seat.slackMin),
    forecast: w.forecast && !happened,
    ...(spread && !happened
      ? { spread: { earliestAt: at(seat.startMin - spread.earlierMin), latestAt: at(seat.startMin + spread.laterMin) } }
      : {}),
    pinned: tick?.pin !== undefined,
    doses: w.doses,
    records: step.records,
    caution: step.caution,
    materials: step.materials,
    why: whyNotEarlier(seat.notEarlier, speech),
    whyNotLater: whyNotLater(seat.notLater, speech),
    prev: side.around.prev.get(w.task.key) ?? [],
    next: side.around.next.get(w.task.key) ?? [],
    waits: side.around.waits.get(w.task.key) ?? [],
    conflicts: side.conflicts.filter((c) => c.firstTaskKey === w.task.key).map((c) => c.id),
    broken: side.broken.get(w.task.key) ?? [],
  }
}

/** Work that nobody else can do is not given to somebody who is away: it has nobody until somebody decides. */
const isGone = (facts: Facts, personId: string, at: Temporal.Instant): boolean => {
  const person = facts.people.find((p) => p.id === personId)
  return person !== undefined && isAway(person, at)
}

/** A lot's time on a press, in a cold room, in bins. */
interface MachineStay {
  readonly hold: Hold
  readonly units: readonly string[]
}

function machineStays({ problem, plan }: Laid): ReadonlyMap<string, readonly MachineStay[]> {
  const byKey = new Map(problem.holds.map((h) => [h.key, h]))
  const stays = new Map<string, MachineStay[]>()
  for (const { key, units } of plan.holds) {
    const hold = byKey.get(key)
    if (!hold || !isOfMachine(key)) continue
    stays.set(hold.group, [...(stays.get(hold.group) ?? []), { hold, units }])
  }
  return stays
}

/**
 * Loading, pressing, emptying and washing are done on the press that the lot holds; fruit is cooled in its room and
 * received into its bins.
 */
function takesPart(w: Work, hold: Hold): boolean {
  if (!hold.key.includes('/press-')) return hold.from.task === w.task.key
  if (w.step === 'clean-press' || w.step === 'press-skins')
    return hold.to.task === w.task.key || hold.from.task === w.task.key
  return (
    ['load-press', 'press', 'empty-press', 'dose-juice', 'cut-fractions'].includes(w.step) &&
    hold.key.endsWith(`/press-${w.count}`)
  )
}

const CANNOT_GO_ON = new Set(['no-unit', 'no-person', 'cycle'])

function stateOf(w: Work, side: Side, seat: Placed): TaskState {
  const tick = side.laid.ground.ticks.get(w.task.key)
  if (tick?.skipped && !(tick.done && tick.done.at.epochMilliseconds >= tick.skipped.at.epochMilliseconds))
    return 'skipped'
  if (tick?.done) return 'done'
  if (tick?.started) return 'underway'
  if ((side.rules.get(w.task.key) ?? []).some((b) => b.strength === 'hard' && CANNOT_GO_ON.has(b.rule)))
    return 'blocked'
  return seat.startMin < side.dayEndsMin ? 'due' : 'planned'
}

function speechOf(laid: Laid, facts: Facts, seats: ReadonlyMap<string, Placed>): Speech {
  const names = new Map([
    ...facts.people.map((p) => [p.id, p.name] as const),
    ...facts.vessels.map((v) => [v.id, v.code] as const),
    ...facts.machines.map((m) => [m.id, m.code === m.name ? m.name : `${m.code}`] as const),
    ...facts.people.map((p) => [`shift ${p.id}`, p.name] as const),
  ])
  const works = new Map(laid.works.map((w) => [w.task.key, w]))
  return {
    startAt: laid.ground.startAt,
    cellar: facts.cellar,
    nameOf: (id) => names.get(id) ?? id.replace(/^starts .*/, 'its hours'),
    taskOf: (key) => {
      const work = works.get(key)
      return work ? `${work.task.group === 'house' ? '' : `${work.task.group} `}${work.name.toLowerCase()}` : key
    },
    endOf: (key) => seats.get(key)?.endMin,
    startOf: (key) => seats.get(key)?.startMin,
    isByDay: (key) => seats.get(key)?.byDay === true,
    measureOf: (id) => MEASURES[facts.machines.find((m) => m.id === id)?.kind ?? ''] ?? '',
  }
}

/** What the figure of a shared machine counts. */
const MEASURES: Readonly<Record<string, string>> = {
  'cold-room': ' t',
  bins: ' t',
  chiller: ' kW',
  'warm-water': ' kW',
}

interface Neighbours {
  readonly prev: ReadonlyMap<string, readonly string[]>
  readonly next: ReadonlyMap<string, readonly string[]>
  readonly waits: ReadonlyMap<string, readonly Wait[]>
}

function neighbours(problem: Problem): Neighbours {
  const prev = new Map<string, string[]>()
  const next = new Map<string, string[]>()
  const waits = new Map<string, Wait[]>()
  for (const link of problem.links) {
    prev.set(link.next, [...(prev.get(link.next) ?? []), link.prev])
    next.set(link.prev, [...(next.get(link.prev) ?? []), link.next])
    waits.set(link.next, [...(waits.get(link.next) ?? []), waitOf(link)])
  }
  return { prev, next, waits }
}

/** Working minutes take at least as long on the wall: as a least lag they hold there too, as a longest they do not. */
const waitOf = (link: Link): Wait => ({
  key: link.prev,
  from: link.from,
  minMin: link.minLagMin,
  ...(link.maxLagMin === undefined || link.clock === 'working' ? {} : { maxMin: link.maxLagMin }),
  ...(link.strength === 'soft' ? { soft: true } : {}),
})

function byTask<T extends { readonly taskKeys: readonly string[] }>(
  all: readonly T[],
): ReadonlyMap<string, readonly T[]> {
  const map = new Map<string, T[]>()
  for (const one of all) for (const key of one.taskKeys) map.set(key, [...(map.get(key) ?? []), one])
  return map
}

function forecastTold(
  { lot, setting, network }: Laid['lots'][number],
  ground: Ground,
): CellarPlan['forecasts'][number] {
  const at = (min: number) => momentAt(ground.startAt, Math.round(min))
  const { ends, ferment, fermentStartMin } = network
  const pitched = pitchedAt(lot, ground)
  return {
    lotId: lot.id,
    dryAt: { earliestAt: at(ends.earliestMin), likelyAt: at(ends.likelyMin), latestAt: at(ends.latestMin) },
    points: ferment.points
      .filter((p) => p.hour * 60 <= 90 * DAY)
      .map((p) => ({
        at: at(fermentStartMin + p.hour * 60),
        sugarGPerL: p.sugarGPerL,
        lowGPerL: p.lowGPerL,
        highGPerL: p.highGPerL,
        tempC: p.tempC,
      })),
    watch: watchOf(setting, pitched && minOf(setting, pitched), ferment),
  }
}

const byStart = (a: TaskPlan, b: TaskPlan): number =>
  Temporal.Instant.compare(a.startAt, b.startAt) || (a.key < b.key ? -1 : 1)

export const pitchedAt = (lot: Lot, ground: Ground): Temporal.Instant | undefined =>
  ['inoculate/1', 'fill-barrels/1', 'rack-juice/1', 'destem-crush/1']
    .map((step) => ground.ticks.get(`${lot.code}/${step}`)?.done?.at)
    .find((at) => at !== undefined)
