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

const vesselsOf = (g: PhaseGround, names: readonly string[]): readonly string[] => [
  ...new Set(
    g.network.holds
      .filter((h) => names.some((n) => h.key === `${g.lot.code}/${n}` || h.key.startsWith(`${g.lot.code}/${n}-`)))
      .flatMap((h) => g.berths.get(h.key) ?? []),
  ),
]

const volumeOf = (g: PhaseGround, ...steps: string[]): number =>
  Math.round(
    g.network.works
      .filter((w) => steps.includes(w.step) && w.volumeL > 0)
      .map((w) => w.volumeL)
      .at(0) ?? g.lot.fruit.tonnes * g.lot.fruit.yieldLPerT,
  )

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
  const from = first(g, 'inoculate') ?? last(g, 'fill-barrels') ?? last(g, 'rack-juice') ?? last(g, 'destem-crush')
  const stop = first(g, 'stop-chill')
  const to = stop ?? first(g, 'check-dry')
  if (!from || !to) return undefined
  const { ends, ferment: forecast } = g.network
  const days = Math.ceil((to.startMin - from.startMin) / DAY)
  return phase(g, 'ferment', from.startMin, to.startMin, {
    vessels: vesselsOf(g, ['ferment']),
    volumeL: volumeOf(g, 'inoculate', 'fill-barrels', 'rack-juice', 'destem-crush'),
    tempC: g.lot.choices.fermentTempC,
    rate: Array.from({ length: days }, (_, d) => Math.round((forecast.sugarFallPerDay[d] ?? 0) * 10) / 10),
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
    vessels: vesselsOf(g, ['ferment', 'store']),
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
  const leesEnd = first(g, 'rack-out', 'blend') ?? first(g, 'rack-fining') ?? cold ?? first(g, 'pre-bottling') ?? end
  const { choices } = g.lot
  const volumeL = volumeOf(g, 'post-so2', 'stop-so2', 'rack-gross')
  const storeFrom = cold?.endMin ?? leesEnd?.endMin
  return [
    from && leesEnd
      ? phase(g, 'lees', from.endMin, leesEnd.startMin, {
          vessels: vesselsOf(g, ['store', 'ferment']),
          volumeL,
          tempC: choices.maturationC,
        })
      : undefined,
    cold
      ? phase(g, 'cold', cold.startMin, cold.endMin, { vessels: vesselsOf(g, ['cold', 'fined']), volumeL, tempC: -4 })
      : undefined,
    storeFrom !== undefined && end
      ? phase(g, 'store', storeFrom, end.endMin, {
          vessels: vesselsOf(g, ['finish', 'fined']),
          volumeL,
          tempC: choices.maturationC,
        })
      : undefined,
  ]
}
