import type { Addition, Facts, Lot, MachineKind, Reading, ReadingKind, Transfer } from '../facts.ts'
import { ticksOf } from '../ticks.ts'
import type { ConflictContext } from '../types.ts'

/** Stabilisers and lysozyme, which cloud with bentonite put in after them. */
const ADDITIVE = /carboxymethyl|\bCMC\b|mannoprotein|polyaspartate|lysozyme/i
const BENTONITE = /bentonite/i
const ASCORBIC = /ascorb/i
const SORBIC = /sorb(ic|ate)/i

/** Rise that calls for action, g/L acetic: the alarm of the volatile acidity check. */
const VA_RISE_G_PER_L = 0.1

/** What a lot's conflicts are tested against, gathered from the cellar's facts. The planner adds what only it knows. */
export function conflictContextOf(lot: Lot, facts: Facts, more: Partial<ConflictContext> = {}): ConflictContext {
  const readings = standing(lot.id, facts.readings)
  const additions = facts.additions.filter((addition) => addition.lotId === lot.id)
  const used = (product: RegExp) => additions.some((addition) => product.test(addition.product))
  return {
    choices: lot.choices,
    fruit: lot.fruit,
    volumeL: newestVolumeL(lot, facts, readings),
    latest: latestOf(readings),
    ...has(facts, 'filter', 'filterInCellar'),
    ...has(facts, 'heat-exchanger', 'mustChillerInCellar'),
    ...has(facts, 'cold-room', 'coldRoomInCellar'),
    ...woodOf(lot, facts),
    ...phaseDone(lot, facts),
    vaRising: rising(readings),
    ascorbicUsed: used(ASCORBIC),
    sorbicUsed: used(SORBIC),
    bentoniteAfterAdditive: bentoniteAfter(additions),
    ...more,
  }
}

/** Readings that no later entry corrects, in order of time. */
function standing(lotId: string, all: readonly Reading[]): readonly Reading[] {
  const own = all.filter((reading) => reading.lotId === lotId)
  const corrected = new Set(own.flatMap((reading) => reading.correctsId ?? []))
  return own
    .filter((reading) => !corrected.has(reading.id))
    .sort((a, b) => a.takenAt.epochMilliseconds - b.takenAt.epochMilliseconds || (a.id < b.id ? -1 : 1))
}

const latestOf = (readings: readonly Reading[]): Partial<Record<ReadingKind, number>> =>
  Object.fromEntries(readings.map((reading) => [reading.kind, reading.value]))

/** Litres as last dipped or moved. Loads and fractions of one move count together. */
function newestVolumeL(lot: Lot, facts: Facts, readings: readonly Reading[]): number {
  const expectedL = lot.fruit.tonnes * lot.fruit.yieldLPerT
  // Must on its skins, one load of it, is not the lot's juice.
  const dip = readings.findLast((r) => r.kind === 'volume' && !r.vesselId && !MUST_STEPS.has(stepIn(r.taskKey)))
  const moves = facts.transfers.filter((transfer) => transfer.lotId === lot.id)
  const last = moves.reduce<(typeof moves)[number] | undefined>(
    (newest, move) => (!newest || move.movedAt.epochMilliseconds >= newest.movedAt.epochMilliseconds ? move : newest),
    undefined,
  )
  if (last && (!dip || last.movedAt.epochMilliseconds > dip.takenAt.epochMilliseconds)) {
    return inVessels(moves, facts) ?? ofStep(moves, last)
  }
  return dip?.value ?? expectedL
}

/** Vessel by vessel: what a move leaves is empty, what it enters holds so much more. Absent where vessels were not written. */
function inVessels(moves: readonly Transfer[], facts: Facts): number | undefined {
  const wood = new Set(facts.vessels.filter((v) => v.kind === 'barrel' || v.kind === 'puncheon').map((v) => v.id))
  const held = new Map<string, number>()
  let before: string | undefined
  const inTime = [...moves].sort((a, b) => a.movedAt.epochMilliseconds - b.movedAt.epochMilliseconds)
  for (const { fromVesselId, toVesselId, volumeL, taskKey } of inTime) {
    if (toVesselId === undefined || (fromVesselId === undefined && stepIn(taskKey) !== 'press')) return undefined
    const step = stepIn(taskKey)
    const first = taskKey !== before
    before = taskKey
    // A row names one vessel of many: a blend takes all of the lot, racking out all of its wood.
    for (const id of [...held.keys()])
      if (id === fromVesselId || (first && ALL_OF_IT.has(step)) || (step === 'rack-out' && wood.has(id)))
        held.delete(id)
    held.set(toVesselId, (held.get(toVesselId) ?? 0) + volumeL)
  }
  return [...held.values()].reduce((sum, litres) => sum + litres, 0)
}

/** Loads and fractions of the last move together. */
const ofStep = (moves: readonly Transfer[], last: Transfer): number =>
  moves
    .filter((move) => stepIn(move.taskKey) === stepIn(last.taskKey) && (last.taskKey || move === last))
    .reduce((sum, move) => sum + move.volumeL, 0)

const ALL_OF_IT: ReadonlySet<string> = new Set(['blend', 'stop-so2'])
const MUST_STEPS: ReadonlySet<string> = new Set(['destem-crush', 'chill-must', 'macerate-cold', 'drain', 'receive'])
const stepIn = (taskKey: string | undefined): string => taskKey?.split('/')[1] ?? ''

/** A cellar that has listed no machine at all has said nothing about what it lacks. */
const has = <K extends keyof ConflictContext>(facts: Facts, kind: MachineKind, key: K): Partial<ConflictContext> =>
  facts.machines.length === 0 ? {} : { [key]: facts.machines.some((machine) => machine.kind === kind) }

/** The vessels fixed for the lot: youngest wood, and whether all its concrete can be cooled. */
function woodOf(lot: Lot, facts: Facts): Partial<ConflictContext> {
  const pinned = new Set(Object.values(lot.vesselPins).flat())
  const vessels = facts.vessels.filter((vessel) => pinned.has(vessel.id))
  const fills = vessels.filter((vessel) => vessel.kind === 'barrel').flatMap((vessel) => vessel.fills ?? [])
  const concrete = vessels.filter((vessel) => vessel.kind === 'concrete')
  return {
    // One wine a year: the fills a barrel has held are its years.
    ...(fills.length > 0 ? { barrelYears: Math.min(...fills) } : {}),
    ...(concrete.length > 0 ? { concretePlate: concrete.every((vessel) => vessel.jacket) } : {}),
  }
}

const WINE_FROM = ['check-dry', 'stop-so2', 'rack-gross']
const FERMENT_FROM = ['inoculate', 'watch-start', 'work-cap', 'fill-barrels']
const JUICE_FROM = ['press']

function phaseDone(lot: Lot, facts: Facts): Partial<ConflictContext> {
  const ticks = ticksOf(facts.taskFacts.filter((fact) => fact.taskKey.startsWith(`${lot.code}/`)))
  const done = new Set([...ticks].filter(([, tick]) => tick.done).map(([key]) => key.split('/')[1] ?? ''))
  const any = (steps: readonly string[]) => steps.some((step) => done.has(step))
  const phase = any(WINE_FROM) ? 'wine' : any(FERMENT_FROM) ? 'ferment' : any(JUICE_FROM) ? 'juice' : undefined
  return { ...(phase ? { phase } : {}), malolacticDone: done.has('mlf-done') }
}

function rising(readings: readonly Reading[]): boolean {
  const [before, now] = readings.filter((reading) => reading.kind === 'va').slice(-2)
  return before !== undefined && now !== undefined && now.value - before.value > VA_RISE_G_PER_L
}

function bentoniteAfter(additions: readonly Addition[]): boolean {
  const momentsOf = (product: RegExp) =>
    additions.filter((entry) => product.test(entry.product)).map((entry) => entry.addedAt.epochMilliseconds)
  const first = Math.min(...momentsOf(ADDITIVE))
  return momentsOf(BENTONITE).some((moment) => moment > first)
}
