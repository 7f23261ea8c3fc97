import { dayOf, minutesFrom, momentAt, Temporal, wallTimeAt } from '../time.ts'
import type { Choices } from './choices.ts'
import type {
  Addition,
  Cellar,
  Facts,
  Fruit,
  Lot,
  Machine,
  Reading,
  ReadingKind,
  Stock,
  Transfer,
  Trouble,
  Vessel,
} from './facts.ts'
import { homeOf, machinesAt } from './sites.ts'
import { USUAL_SIZES } from './steps.ts'
import type { Tick } from './ticks.ts'
import type { StepSizes } from './types.ts'

export const HOUR = 60
export const DAY = 1440

/** Start and end of a task as an earlier plan placed it; the network counts repeats from it. */
export interface Span {
  readonly startMin: number
  readonly endMin: number
}

/** All that a lot's network is a function of. Minutes count from plan start. */
export interface Setting {
  readonly lot: Lot
  readonly choices: Choices
  /** The booking, corrected by what was read before the ferment. */
  readonly fruit: Fruit
  readonly cellar: Cellar
  readonly vessels: readonly Vessel[]
  /** Those of its site; of a kind that is not there, all. */
  readonly machines: readonly Machine[]
  /** Name of the site where the lot is at home. */
  readonly home: string
  readonly crewSize: number
  readonly startAt: Temporal.Instant
  readonly nowMin: number
  /** Repeats end here even where their phase goes on. */
  readonly repeatUntilMin: number
  readonly ticks: ReadonlyMap<string, Tick>
  readonly placed: ReadonlyMap<string, Span>
  /** Machines of begun work by task key, where somebody knows them. */
  readonly worked?: ReadonlyMap<string, readonly string[]>
  /** Of this lot, corrections applied, in order of time. */
  readonly readings: readonly Reading[]
  readonly transfers: readonly Transfer[]
  readonly troubles: readonly Trouble[]
  readonly additions: readonly Addition[]
  /** What of it lies where, by the ledger; empty where the ledger knows nothing of it. */
  readonly stock: readonly Stock[]
}

export interface Ground {
  readonly facts: Facts
  readonly startAt: Temporal.Instant
  readonly nowAt: Temporal.Instant
  readonly ticks: ReadonlyMap<string, Tick>
  readonly placed: ReadonlyMap<string, Span>
  readonly worked?: ReadonlyMap<string, readonly string[]>
}

export function settingOf(lot: Lot, ground: Ground): Setting {
  const { facts, startAt, nowAt, ticks, placed, worked } = ground
  const readings = readingsOf(lot.id, facts.readings)
  const nowMin = minutesFrom(startAt, nowAt)
  const home = homeOf(lot, facts)
  const pickMin = minutesFrom(startAt, wallTimeAt(lot.pickOn, 0, facts.cellar.zone))
  return {
    lot,
    choices: lot.choices,
    fruit: fruitAsRead(lot, readings, ticks),
    cellar: facts.cellar,
    vessels: facts.vessels.filter((v) => v.state !== 'out-of-service'),
    machines: machinesAt(facts, home),
    home,
    crewSize: Math.max(1, facts.people.filter((p) => p.role !== 'viewer').length),
    startAt,
    nowMin,
    repeatUntilMin: Math.max(nowMin, pickMin) + 400 * DAY,
    ticks,
    placed,
    ...(worked ? { worked } : {}),
    readings,
    transfers: facts.transfers.filter((t) => t.lotId === lot.id),
    stock: (facts.stock ?? []).filter((x) => x.lotId === lot.id),
    troubles: (facts.troubles ?? []).filter((t) => t.lotId === lot.id),
    additions: facts.additions.filter((a) => a.lotId === lot.id),
  }
}

/** A reading that another one corrects counts no more. */
export function readingsOf(lotId: string, all: readonly Reading[]): readonly Reading[] {
  const corrected = new Set(all.flatMap((r) => r.correctsId ?? []))
  return all
    .filter((r) => r.lotId === lotId && !corrected.has(r.id))
    .sort((a, b) => a.takenAt.epochMilliseconds - b.takenAt.epochMilliseconds || (a.id < b.id ? -1 : 1))
}

const READ_AS: readonly (readonly [ReadingKind, keyof Fruit])[] = [
  ['brix', 'brix'],
  ['pH', 'pH'],
  ['ta', 'acidGPerLTartaric'],
  ['malic', 'malicGPerL'],
  ['yan', 'yanMgPerL'],
  ['rot', 'rotPct'],
]

/** Work whose readings describe the fruit or the juice before yeast. */
const JUICE_STEPS = new Set(['sample-block', 'receive', 'inspect-fruit', 'check-clarity', 'juice-panel'])

function fruitAsRead(lot: Lot, readings: readonly Reading[], ticks: ReadonlyMap<string, Tick>): Fruit {
  const pitched = ['inoculate', 'watch-start', 'work-cap', 'check-ferment']
    .flatMap((step) => ticks.get(`${lot.code}/${step}/1`)?.done?.at.epochMilliseconds ?? [])
    .reduce((a, b) => Math.min(a, b), Infinity)
  const ofJuice = readings.filter((r) =>
    r.taskKey
      ? JUICE_STEPS.has(r.taskKey.split('/')[1] ?? '')
      : r.takenAt.epochMilliseconds < pitched && pitched < Infinity,
  )
  const read = READ_AS.flatMap(([kind, field]) => {
    const last = ofJuice.findLast((r) => r.kind === kind)
    return last && plausible(field, last.value) ? [[field, last.value] as const] : []
  })
  return { ...lot.fruit, ...Object.fromEntries(read) }
}

/** A reading no juice can have is a slip of the pen: the plan does not follow it. */
function plausible(field: keyof Fruit, value: number): boolean {
  if (field === 'brix') return value >= 10 && value <= 45
  if (field === 'pH') return value >= 2.6 && value <= 4.4
  return value >= 0 && value < 1000
}

export const minOf = (s: Setting, at: Temporal.Instant): number => minutesFrom(s.startAt, at)

export const wallMin = (s: Setting, on: Temporal.PlainDate, minuteOfDay: number): number =>
  minOf(s, wallTimeAt(on, minuteOfDay, s.cellar.zone))

export const dayAt = (s: Setting, min: number): Temporal.PlainDate =>
  dayOf(momentAt(s.startAt, Math.round(min)), s.cellar.zone)

/** A wall time on the day of a minute, moved by whole days. */
export const wallNear = (s: Setting, min: number, days: number, minuteOfDay: number): number =>
  wallMin(s, dayAt(s, min).add({ days }), minuteOfDay)

/** The first such weekday (Monday 1) on or after a day. */
export const weekdayFrom = (on: Temporal.PlainDate, weekday: number): Temporal.PlainDate =>
  on.add({ days: (weekday - on.dayOfWeek + 7) % 7 })

export const isHoliday = (s: Setting, on: Temporal.PlainDate): boolean =>
  s.cellar.holidays.some((h) => Temporal.PlainDate.compare(h.on, on) === 0)

/** When a task began or will: as done, started, pinned, last planned, or guessed. */
export function startMinOf(s: Setting, key: string, guessMin: number): number {
  const tick = s.ticks.get(key)
  const fact = tick?.done ?? tick?.skipped
  if (fact) return minOf(s, fact.startAt ?? fact.at)
  if (tick?.started) return minOf(s, tick.started.startAt ?? tick.started.at)
  if (tick?.pin?.startAt) return minOf(s, tick.pin.startAt)
  return s.placed.get(key)?.startMin ?? guessMin
}

/** When a task began or was pinned to begin; where it was merely planned does not count, or a slip would stay for ever. */
export function toldMinOf(s: Setting, key: string): number | undefined {
  const tick = s.ticks.get(key)
  const fact = tick?.done ?? tick?.skipped ?? tick?.started
  if (fact) return minOf(s, fact.startAt ?? fact.at)
  return tick?.pin?.startAt ? minOf(s, tick.pin.startAt) : undefined
}

export function endMinOf(s: Setting, key: string, guessStartMin: number, lengthMin: number): number {
  const fact = s.ticks.get(key)?.done ?? s.ticks.get(key)?.skipped
  if (fact) return minOf(s, fact.at)
  const placed = s.placed.get(key)
  return placed ? placed.endMin : startMinOf(s, key, guessStartMin) + lengthMin
}

export const isDone = (s: Setting, key: string): boolean => {
  const tick = s.ticks.get(key)
  return tick?.done !== undefined || tick?.skipped !== undefined
}

export const latest = (s: Setting, kind: ReadingKind): Reading | undefined =>
  s.readings.findLast((r) => r.kind === kind)

/**
 * Litres after a move: as written down, and where that wine still lies in the vessels it came to, as the ledger has it
 * now (topped, sampled, spilt since). Else as worked out. A dip taken later stands for the last move before it.
 */
export function volumeAfter(s: Setting, key: string, workedOutL: number): number {
  const moves = s.transfers.filter((t) => t.taskKey === key)
  const written = moves.reduce((sum, t) => sum + t.volumeL, 0)
  const doneAt = s.ticks.get(key)?.done?.at
  if (doneAt) {
    const dips = s.readings.filter(
      (r) => r.kind === 'volume' && r.value > 0 && r.takenAt.epochMilliseconds >= doneAt.epochMilliseconds,
    )
    const dip = dips.find((r) => r.taskKey === key) ?? dips.findLast((r) => !r.taskKey && !r.vesselId)
    if (dip) return dip.value
    const there = liesL(s, moves)
    if (there !== undefined) return there
  }
  return written > 0 ? written : workedOutL
}

/** What is left of some moves where they went; of a vessel that took several, the part of these. Absent once it moved on. */
function liesL(s: Setting, moves: readonly Transfer[]): number | undefined {
  const into = [...new Set(moves.flatMap((t) => t.toVesselId ?? []))]
  const held = into.flatMap((id) => s.stock.find((x) => x.vesselId === id) ?? [])
  if (held.length === 0) return undefined
  return held.reduce((sum, x) => {
    const all = s.transfers.filter((t) => t.toVesselId === x.vesselId && stepIn(t) === stepIn(moves[0]))
    const ofAll = all.reduce((litres, t) => litres + t.volumeL, 0)
    const own = moves.filter((t) => t.toVesselId === x.vesselId).reduce((litres, t) => litres + t.volumeL, 0)
    return sum + (ofAll > 0 ? (x.volumeL * own) / ofAll : x.volumeL)
  }, 0)
}

const stepIn = (t: Transfer | undefined): string | undefined => t?.taskKey?.split('/')[1]

/** What the formulas of a step are fed: the cellar's rates, the lot's sizes. */
export function sizesOf(s: Setting, own: Partial<StepSizes> = {}): StepSizes {
  const { rates } = s.cellar
  const ratedOf = (kind: Machine['kind'], usual: number) => {
    const rated = s.machines.filter((m) => m.kind === kind && m.capacity > 1).map((m) => m.capacity)
    return rated.length > 0 ? Math.max(...rated) : usual
  }
  return {
    ...USUAL_SIZES,
    tonnes: s.fruit.tonnes,
    barrels: 0,
    newBarrels: 0,
    vessels: 1,
    samples: 1,
    receptionTPerH: rates.receptionTPerH,
    sortingTPerH: rates.sortingTPerH,
    pressLoadingTPerH: rates.pressLoadingTPerH,
    floatLPerH: rates.floatLPerH,
    chillKW: Math.min(rates.chillKW, ratedOf('chiller', rates.chillKW)),
    heatKW: Math.min(rates.heatKW, ratedOf('warm-water', rates.heatKW)),
    pumpLPerH: ratedOf('pump', USUAL_SIZES.pumpLPerH),
    filterLPerH: ratedOf('filter', USUAL_SIZES.filterLPerH),
    ...own,
  }
}
