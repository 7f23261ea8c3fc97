import type { Hold } from '../schedule/types.ts'
import { momentAt, type Temporal } from '../time.ts'
import type { Lot } from './facts.ts'
import type { Network } from './network.ts'
import { DAY } from './setting.ts'
import type { Phase, PhaseKind } from './types.ts'

/** A task's place in the plan, as far as a band needs it. */
export interface Seat {
  readonly startMin: number
  readonly endMin: number
}

export interface PhaseGround {
  readonly lot: Lot
  readonly network: Network
  readonly startAt: Temporal.Instant
  readonly seats: ReadonlyMap<string, Seat>
  /** Vessel ids of each hold. */
  readonly berths: ReadonlyMap<string, readonly string[]>
}

/** What the wine does by itself, band by band, from the placed tasks. */
export function phasesOf(g: PhaseGround): readonly Phase[] {
  return [fruitPhase(g), settlePhase(g), maceratePhase(g), ferment(g), malolacticPhase(g), ...resting(g)].flatMap(
    (p) => p ?? [],
  )
}

const first = (g: PhaseGround, ...steps: string[]): Seat | undefined =>
  seatsOf(g, steps).reduce<Seat | undefined>((a, b) => (a && a.startMin <= b.startMin ? a : b), undefined)

const last = (g: PhaseGround, ...steps: string[]): Seat | undefined =>
  seatsOf(g, steps).reduce<Seat | undefined>((a, b) => (a && a.endMin >= b.endMin ? a : b), undefined)

function seatsOf(g: PhaseGround, steps: readonly string[]): readonly Seat[] {
  return g.network.works.filter((w) => steps.includes(w.step)).flatMap((w) => g.seats.get(w.task.key) ?? [])
}

/** Vessels that hold the wine in [fromMin, toMin): what it left before or enters later is not where it is. */
function vesselsOf(g: PhaseGround, names: readonly string[], fromMin = -Infinity, toMin = Infinity): readonly string[] {
  const named = g.network.holds.filter((h) =>
    names.some((n) => h.key === `${g.lot.code}/${n}` || h.key.startsWith(`${g.lot.code}/${n}-`)),
  )
  const minOf = (edge: Hold['from']) => {
    const seat = g.seats.get(edge.task)
    return edge.edge === 'start' ? seat?.startMin : seat?.endMin
  }
  const then = named.filter((h) => (minOf(h.from) ?? -Infinity) < toMin && (minOf(h.to) ?? Infinity) > fromMin)
  return [...new Set(then.flatMap((h) => g.berths.get(h.key) ?? []))]
}

/** Litres of the first step named that has any: its loads and fractions together. */
function volumeOf(g: PhaseGround, ...steps: string[]): number {
  for (const step of steps) {
    const volumeL = g.network.works.filter((w) => w.step === step).reduce((litres, w) => litres + w.volumeL, 0)
    if (volumeL > 0) return Math.round(volumeL)
  }
  return Math.round(g.lot.fruit.tonnes * g.lot.fruit.yieldLPerT)
}

function phase(
  g: PhaseGround,
  kind: PhaseKind,
  fromMin: number,
  toMin: number,
  own: {
    readonly vessels: readonly string[]
    readonly volumeL: number
    readonly tempC: number
    readonly rate?: readonly number[]
    readonly spread?: readonly [number, number]
  },
): Phase | undefined {
  if (!(toMin > fromMin)) return undefined
  return {
    key: `${g.lot.code}/${kind}`,
    lotId: g.lot.id,
    lotCode: g.lot.code,
    kind,
    vessels: own.vessels,
    volumeL: own.volumeL,
    startAt: momentAt(g.startAt, fromMin),
    endAt: momentAt(g.startAt, toMin),
    ...(own.spread
      ? {
          endSpread: {
            earliestAt: momentAt(g.startAt, Math.min(toMin, Math.round(own.spread[0]))),
            latestAt: momentAt(g.startAt, Math.max(toMin, Math.round(own.spread[1]))),
          },
        }
      : {}),
    ratePerDay: own.rate ?? [],
    tempC: own.tempC,
  }
}

function fruitPhase(g: PhaseGround): Phase | undefined {
  const from = first(g, 'receive')
  const to = first(g, 'press', 'rack-juice', 'work-cap')
  if (!from || !to) return undefined
  return phase(g, 'fruit', from.startMin, to.startMin, { vessels: [], volumeL: 0, tempC: g.lot.fruit.fruitTempC })
}

function settlePhase(g: PhaseGround): Phase | undefined {
  const from = first(g, 'settle', 'float') ?? last(g, 'press')
  const to = first(g, 'rack-juice')
  if (!from || !to) return undefined
  return phase(g, 'settle', from.startMin, to.startMin, {
    vessels: vesselsOf(g, ['settle']),
    volumeL: volumeOf(g, 'settle', 'float', 'rack-juice'),
    tempC: g.lot.choices.clarification === 'cold-settle' ? Math.min(12, g.lot.choices.fruitCoolToC) : 12,
  })
}

function maceratePhase(g: PhaseGround): Phase | undefined {
  const soak = first(g, 'macerate-cold')
  if (soak)
    return phase(g, 'macerate', soak.startMin, soak.endMin, {
      vessels: vesselsOf(g, ['must']),
      volumeL: volumeOf(g, 'macerate-cold'),
      tempC: g.lot.choices.skinContactC,
    })
  const pressed = last(g, 'press-skins')
  const from = last(g, 'destem-crush')
  if (!pressed || !from) return undefined
  return phase(g, 'macerate', from.endMin, pressed.startMin, {
    vessels: vesselsOf(g, ['ferment']),
    volumeL: volumeOf(g, 'destem-crush'),
    tempC: g.lot.choices.fermentTempC,
  })
}

/** The band's width is the sugar that falls a day. */
function ferment(g: PhaseGround): Phase | undefined {
  const pitched = first(g, 'inoculate')
  const filled = last(g, 'fill-barrels')
  // Wood that was to start by itself and is pitched late has held the juice all along.
  const isLate = pitched && filled && filled.endMin <= pitched.startMin
  const from = (isLate ? filled : pitched) ?? filled ?? last(g, 'rack-juice') ?? last(g, 'destem-crush')
  const stop = first(g, 'stop-chill')
  const to = stop ?? first(g, 'check-dry')
  if (!from || !to) return undefined
  const { ends, ferment: forecast } = g.network
  const days = Math.ceil((to.startMin - from.startMin) / DAY)
  const still = isLate ? Math.round((pitched.startMin - from.startMin) / DAY) : 0
  return phase(g, 'ferment', from.startMin, to.startMin, {
    vessels: vesselsOf(g, ['ferment']),
    volumeL: Math.round(g.network.fermentL),
    tempC: g.lot.choices.fermentTempC,
    rate: Array.from({ length: days }, (_, d) => Math.round((forecast.sugarFallPerDay[d - still] ?? 0) * 10) / 10),
    ...(ends.known ? {} : { spread: [ends.earliestMin, ends.latestMin] as const }),
  })
}

function malolacticPhase(g: PhaseGround): Phase | undefined {
  const from = first(g, 'mlf-inoculate', 'mlf-warm')
  const done = first(g, 'mlf-done')
  if (!from || !done) return undefined
  const days = Math.max(1, (done.startMin - from.startMin) / DAY)
  const spread = g.network.works.find((w) => w.step === 'mlf-done')?.task.spread
  return phase(g, 'malolactic', from.startMin, done.startMin, {
    vessels: vesselsOf(g, ['ferment', 'store'], from.endMin, done.startMin),
    volumeL: volumeOf(g, 'post-so2', 'fill-barrels'),
    tempC: 19,
    rate: Array.from({ length: Math.ceil(days) }, () => Math.round((g.lot.fruit.malicGPerL / days) * 100) / 100),
    ...(spread ? { spread: [done.startMin - spread.earlierMin, done.startMin + spread.laterMin] as const } : {}),
  })
}

/** On its lees until the finish begins, then the cold, then at rest until the day. */
function resting(g: PhaseGround): readonly (Phase | undefined)[] {
  const from = last(g, 'press-skins') ?? first(g, 'rack-gross', 'stop-so2') ?? first(g, 'check-dry')
  const cold = first(g, 'cold-stab')
  const end = last(g, 'filter-membrane', 'release')
  // A move into a jacket before the stop is not the end of its rest.
  const out = seatsOf(g, ['rack-out', 'blend']).filter((x) => !from || x.startMin >= from.endMin)
  const leesEnd =
    out.toSorted((a, b) => a.startMin - b.startMin)[0] ??
    first(g, 'rack-fining') ??
    cold ??
    first(g, 'pre-bottling') ??
    end
  const { choices } = g.lot
  const volumeL = volumeOf(g, 'post-so2', 'stop-so2', 'rack-gross')
  const storeFrom = cold?.endMin ?? leesEnd?.endMin
  return [
    from && leesEnd
      ? phase(g, 'lees', from.endMin, leesEnd.startMin, {
          vessels: vesselsOf(g, ['store', 'ferment'], from.endMin, leesEnd.startMin),
          volumeL,
          tempC: choices.maturationC,
        })
      : undefined,
    cold
      ? phase(g, 'cold', cold.startMin, cold.endMin, {
          vessels: vesselsOf(g, ['store', 'ferment', 'cold', 'fined'], cold.startMin, cold.endMin),
          volumeL: volumeOf(g, 'cold-stab'),
          tempC: -4,
        })
      : undefined,
    storeFrom !== undefined && end
      ? phase(g, 'store', storeFrom, end.endMin, {
          vessels: vesselsOf(g, ['store', 'ferment', 'cold', 'fined', 'finish'], storeFrom, end.endMin),
          volumeL: volumeOf(g, 'final-so2'),
          tempC: choices.maturationC,
        })
      : undefined,
  ]
}
